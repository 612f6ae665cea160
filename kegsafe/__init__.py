"""kegsafe: the food-safety and shelf-life log of a bar that pours carbonated drinks from kegs."""
