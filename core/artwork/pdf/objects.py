"""Objects of a PDF file taken for what they should be, whatever they are."""

import pikepdf


def dictionary(value: object) -> pikepdf.Object:
    """The value where it is a dictionary or a stream, else an empty dictionary."""
    return value if isinstance(value, pikepdf.Dictionary | pikepdf.Stream) else pikepdf.Dictionary()


def items(value: object) -> list[pikepdf.Object]:
    """The members of an array, none of anything else."""
    return list(value) if isinstance(value, pikepdf.Array) else []


def dictionaries(value: object) -> list[pikepdf.Object]:
    """The dictionaries in an array."""
    return [one for one in items(value) if isinstance(one, pikepdf.Dictionary)]
