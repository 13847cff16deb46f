"""Floor 1: belts, pulleys, loads, the layout, its route, and the drive in operation."""
