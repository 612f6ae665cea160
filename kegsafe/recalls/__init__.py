"""A recall and its drill: what is affected, who does what, and what came back."""
