"""What the pages and the API tell of a request."""
