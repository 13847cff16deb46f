"""Layouts and their variants side by side."""
