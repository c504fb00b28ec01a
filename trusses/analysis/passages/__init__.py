"""What goes through between the trusses of a row: a hatch, a skylight, a flue, a stair; and what makes room for it."""
