"""PDF pages to a Drawing."""
