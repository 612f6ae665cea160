"""Physics and chemistry of the trade: numbers in, numbers out, the unit in each name."""
