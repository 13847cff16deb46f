"""Floor 4: questions over many layouts: comparing them, moving a pulley about, letting the measurements vary."""
