"""Where a lot went and what a drink came from: the graph of draws, and its amounts."""
