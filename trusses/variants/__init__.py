"""Marks that share their copies: a mark and the variants that decisions split off it."""
