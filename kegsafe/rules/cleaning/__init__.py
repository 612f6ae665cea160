"""Cleaning and sanitising: plans, what they demand, whether a cycle counts, and what is due."""
