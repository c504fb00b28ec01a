"""A run through the set: which copies it crosses and how, what each answers, and which line asks for fewest changes."""
