"""When a piece came out wrong: what is seen, why it may be so, and the trial that settles it."""
