"""What each shape is for, from all that the file tells of it."""

from core.artwork.sorting.deciding import Sorted, sort_shapes

__all__ = ["Sorted", "sort_shapes"]
