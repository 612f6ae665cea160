"""Every log as a file, and a whole venue that moves house."""
