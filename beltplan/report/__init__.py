"""Floor 5: results as text and JSON: the kit, and the report of `check`."""
