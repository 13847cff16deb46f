"""Floor 7: the command line, and the commands that belong to no feature."""
