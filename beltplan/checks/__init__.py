"""Floor 2: what is asked of a drive, and the findings; layouts side by side."""
