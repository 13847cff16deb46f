"""The smallest change that takes the problems away."""
