"""A truss document from the few words that a person says: shape, span, pitch, loads."""
