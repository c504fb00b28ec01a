"""What the sheet and the report of one revision say, and what they derive from its stored analysis."""
