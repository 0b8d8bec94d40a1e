"""What a region is, for modules that only name it: taken from the whole library, never from its part alone.

A thread that loads a part first and one that loads the whole wait for each other; Python ends that by giving one of
them a library half loaded, which fails (``tests/test_libraries_whole_first``).
"""

import shapely  # noqa: F401 - the whole before its part
from shapely.geometry.base import BaseGeometry

__all__ = ["BaseGeometry"]
