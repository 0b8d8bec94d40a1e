"""How far chords may lie off the curve that they stand for."""

DEFAULT_TOLERANCE_MM = 0.01
