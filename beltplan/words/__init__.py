"""Every key, role, profile, limit and finding in words."""
