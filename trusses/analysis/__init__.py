"""The core: a truss document in, an analysis out. No Django here, nor anything of the web."""
