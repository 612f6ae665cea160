"""Pages of the cold room."""
