"""Artwork in: files become a Drawing of shapes in mm, checked and sorted into purposes."""
