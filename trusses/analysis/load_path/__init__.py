"""What one truss puts on another that carries it, and the chain of carriers up to its end."""
