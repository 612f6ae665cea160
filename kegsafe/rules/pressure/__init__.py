"""Pressure equipment and gas: what is due, what bears which pressure, what a room can take."""
