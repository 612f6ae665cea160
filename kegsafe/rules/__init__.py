"""Decisions with their reasons: typed facts in, findings out. No Django, no clock, no I/O."""
