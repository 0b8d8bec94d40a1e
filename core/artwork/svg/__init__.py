"""SVG files to a Drawing, as a renderer would paint them.

``document`` parses, ``cascade`` and ``styles`` say how things look, ``path_data`` and ``outlines`` what shape they
have, ``reading`` walks the tree; the rest are one kind of element each.
"""

from core.artwork.svg.reading import read_svg

__all__ = ["read_svg"]
