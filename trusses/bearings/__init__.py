"""What the bearings of a job's marks stand on: walls, and the marks that carry them."""
