"""Where a pulley may sit."""
