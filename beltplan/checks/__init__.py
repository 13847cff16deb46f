"""Floor 3: one question a file, each answered by findings. `every_check` holds them in order."""
