"""How the drive shakes: its modes of turning, what the engine's firing does to them, spans that flap."""
