"""Help: pages to read, and pictures that are shipped."""
