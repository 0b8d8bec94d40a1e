"""Letters: the machine's fonts, their outlines, the order in which they are read."""
