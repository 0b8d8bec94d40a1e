"""Pure plane geometry: paths, flattening, outlines of strokes, winding. Knows nothing of artwork."""
