"""SVG files to a Drawing, as a renderer would paint them.

``document`` parses, ``cascade`` and ``styles`` say how things look, ``path_data`` and ``outlines`` what shape they
have, ``walking`` goes over the tree, ``workbench`` is what each kind of element is drawn with; most of the rest are one
kind of element each. ``reading`` is the whole way.
"""

from core.artwork.svg.reading import read_svg

__all__ = ["read_svg"]
