"""Forms for pressure equipment and gas."""
