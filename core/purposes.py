"""What shapes and layers are for, and the two answers that are no purpose."""

from typing import Literal

Purpose = Literal["fill", "cut", "score", "guide"]

PURPOSES: tuple[Purpose, ...] = ("fill", "score", "cut", "guide")
"""In burn order; guides are never burned."""

Answer = Literal[Purpose, "leave out"]
"""What the maker says of a shape."""

Suggestion = Answer | Literal["undecided"]
"""What is said of a shape: an answer, or that there is none yet."""

UNDECIDED: Literal["undecided"] = "undecided"
"""Instead of a layer's id: nobody has said yet what the shape is for."""

LEAVE_OUT: Literal["leave out"] = "leave out"
"""Instead of a layer's id: the shape takes no part."""
