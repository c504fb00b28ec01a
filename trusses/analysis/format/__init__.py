"""The truss document: read, refused, written; lengths as people write them."""
