"""The set in three dimensions: every truss in place at true depth, as a scene, as glTF and as a plain picture."""
