"""The one place where the core's codes become sentences; nothing reads a sentence back."""
