"""The pages of the stock room, by subject."""
