"""What an analysis asks of everything around the wood: plates, walls, restraint. From a stored analysis alone."""
