"""Floor 6: one file a command."""
