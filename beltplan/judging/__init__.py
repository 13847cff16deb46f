"""Floor 3: very many places of pulleys judged at once, by every check."""
