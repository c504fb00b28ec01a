"""The map of clear openings for people and programs: what fits where in a truss as it is."""
