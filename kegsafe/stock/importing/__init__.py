"""Deliveries from a CSV file: read, checked row by row, shown, and only then imported."""
