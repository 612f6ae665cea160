"""Forms of the cold room."""
