"""Floor 1: belts, pulleys, adjusters, the layout, the belt's route over it, and which belt fits."""
