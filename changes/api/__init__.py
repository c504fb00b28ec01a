"""The change for programs."""
