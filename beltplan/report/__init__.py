"""Results as JSON and as text: what leaves the program in words and numbers."""
