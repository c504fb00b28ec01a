"""The checks of the National Design Specification and of deflection, for stacks of trusses."""
