"""The specification of kegsafe, room by room; published/ holds it to outside sources."""
