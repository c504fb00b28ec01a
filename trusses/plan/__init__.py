"""A job's trusses as they stand in plan: side by side, and the rows of restraint across them."""
