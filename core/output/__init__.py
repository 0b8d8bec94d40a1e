"""Hand-over: SVG and DXF that carry their settings, and the run sheet."""
