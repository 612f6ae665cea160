"""A venue that moves house: packed into one file, and taken into another database whole."""
