"""From the noise to the cause."""
