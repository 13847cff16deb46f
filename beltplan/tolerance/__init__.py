"""What errors of measuring do."""
