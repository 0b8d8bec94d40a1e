"""Ids of the two shapes that a filled area with a line of another colour becomes."""

LINE = ".line"


def line_id(shape_id: str) -> str:
    """The id of the line round a filled shape."""
    return shape_id + LINE


def whole_id(shape_id: str) -> str:
    """The id of the shape in the file."""
    return shape_id.removesuffix(LINE)
