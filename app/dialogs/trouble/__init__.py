"""The page of a piece that came out wrong, and the trials that settle why."""
