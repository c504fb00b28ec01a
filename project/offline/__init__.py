"""What works without a signal: pages that a phone keeps, and forms that it sends once when the signal is back."""
