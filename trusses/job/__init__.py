"""What a job says once for all its trusses: plate values, sheathing, what stands around them."""
