"""System checks that belong to no one room."""
