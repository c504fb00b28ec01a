"""What an analysis asks of everything around the wood: plates, walls, restraint. It rests on a stored analysis alone."""
