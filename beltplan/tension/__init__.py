"""Floor 2: loads, strand tensions, slip, hub loads and strand vibration."""
