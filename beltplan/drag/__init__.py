"""A window in which pulleys are moved by hand, and the drive answers at once."""
