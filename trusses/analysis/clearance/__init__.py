"""Where a truss is clear of wood: its outline, the pockets between its members, what fits there."""
