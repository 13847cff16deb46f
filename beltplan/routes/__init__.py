"""Which order, and which side of each pulley, makes one belt work."""
