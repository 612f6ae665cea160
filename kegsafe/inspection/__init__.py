"""The inspection pack, its signature, and the link an inspector reads by."""
