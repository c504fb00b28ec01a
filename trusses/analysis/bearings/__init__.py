"""A bearing moved, added, taken away, or built elsewhere than it was drawn: what the truss makes of it, then and in
between."""
