"""Pages of pressure equipment and gas."""
