"""Text files read with the place of every value."""
