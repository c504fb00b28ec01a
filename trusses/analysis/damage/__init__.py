"""A damaged truss: what is taken of it as lost, whether it stands as it is, what a repair has to carry.

Nothing here is a repair, and nothing calls a damaged truss passing: a registered design professional draws the repair.
"""
