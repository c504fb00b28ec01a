"""What a truss takes besides what it was drawn for: a weight at a place, shared over trusses by a stated rule."""
