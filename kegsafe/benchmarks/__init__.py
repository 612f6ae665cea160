"""What kegsafe costs in time, measured against the least that the same work can cost."""
