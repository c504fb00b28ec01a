"""Inspectors: links that show a job without an account, what they show, and what inspectors want corrected."""
