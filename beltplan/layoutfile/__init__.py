"""Floor 4: the layout file, from YAML text to a Layout with every fault found in one run, and back."""
