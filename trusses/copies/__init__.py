"""Copies one by one: who put each where it stands, moves taken back, what becomes of those of an earlier revision."""
