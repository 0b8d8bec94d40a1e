"""What the beam does: dose, scan rows, coverage, line order and run time."""
