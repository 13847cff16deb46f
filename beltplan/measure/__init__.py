"""In from the bench: where everything is, by tape, level, calipers and photo."""
