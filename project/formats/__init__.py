"""How days and moments are written, by language, where a page says nothing else."""
