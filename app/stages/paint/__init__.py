"""Paint: order, masks, coats and times."""
