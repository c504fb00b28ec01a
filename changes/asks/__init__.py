"""What a builder asks: read, refused, and answered while it moves."""
