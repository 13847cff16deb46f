"""Floor 0: points, circles, signed tangents and closed loops. Knows no belts, files or pictures."""
