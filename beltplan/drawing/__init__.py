"""Out to the bench: prints at full scale, and files for other tools."""
