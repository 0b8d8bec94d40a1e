"""What a file's unit may have been taken for."""

SCALES = {"scale-72-to-96": 96 / 72, "scale-90-to-96": 96 / 90, "scale-inch-as-mm": 25.4, "scale-mm-as-inch": 1 / 25.4}
"""Repair code to factor. 96 px an inch: CSS Values and Units; 72 and 90 were other programs' and older habits."""
