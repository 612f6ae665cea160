"""Pages of the inspection: packs, the work of making them, the HACCP summary."""
