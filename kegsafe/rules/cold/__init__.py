"""Cold holding: what a temperature log shows, what it does to a drink, and whom to believe."""
