"""Tain without a window: everything from artwork to handed-over job. Nothing here imports Qt or ``app``."""
