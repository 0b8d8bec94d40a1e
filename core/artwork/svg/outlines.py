"""The basic shapes as paths, in user units (SVG 2, chapter 10)."""

import math
from collections.abc import Callable

import numpy as np

from core.artwork.svg.document import Node
from core.artwork.svg.path_data import parse_path, points_of
from core.artwork.svg.styles import Style, Styles
from core.artwork.svg.values import diagonal, length_px
from core.geometry.path import EMPTY, Path, PathBuilder, ellipse, polyline

BASIC_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})

LENGTHS = {
    "rect": ("x", "y", "width", "height", "rx", "ry"),
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "line": ("x1", "y1", "x2", "y2"),
}
"""Attributes of the basic shapes that are lengths."""

Viewport = tuple[float, float]
Complain = Callable[[str, str], None]
"""Called with a finding's code and what is wrong, without the element's name."""


class Outlines:
    """Makes paths of the elements of one document."""

    def __init__(self, styles: Styles) -> None:
        self._styles = styles

    def length(self, node: Node, name: str, style: Style, viewport: Viewport, percent_of: float) -> float | None:
        """A geometry property in user units, None where it is missing, auto or no length."""
        text = self._styles.geometry(node, name)
        if text is None:
            return None
        return length_px(
            text, percent_of=percent_of, font_size_px=style.font_size_px,
            root_font_size_px=self._styles.root_font_size_px, viewport=viewport,
        )  # fmt: skip

    def x(self, node: Node, name: str, style: Style, viewport: Viewport, default: float = 0.0) -> float:
        """A length along x."""
        value = self.length(node, name, style, viewport, viewport[0])
        return default if value is None else value

    def y(self, node: Node, name: str, style: Style, viewport: Viewport, default: float = 0.0) -> float:
        """A length along y."""
        value = self.length(node, name, style, viewport, viewport[1])
        return default if value is None else value

    def path(self, node: Node, style: Style, viewport: Viewport, complain: Complain) -> Path:
        """The element's outline; EMPTY where it draws nothing."""
        tag = node.tag
        for name in LENGTHS.get(tag, ()):
            text = self._styles.geometry(node, name)
            if text and text.strip() != "auto" and self.length(node, name, style, viewport, viewport[0]) is None:
                complain("bad-length", f"says “{text[:40]}” for {name}, which is no length; it was passed over")
        if tag == "path":
            return self._path_element(node, complain)
        if tag == "rect":
            return self._rect(node, style, viewport, complain)
        if tag in ("circle", "ellipse"):
            return self._ellipse(node, style, viewport, complain)
        if tag == "line":
            x1, x2 = self.x(node, "x1", style, viewport), self.x(node, "x2", style, viewport)
            y1, y2 = self.y(node, "y1", style, viewport), self.y(node, "y2", style, viewport)
            return polyline(np.array([[x1, y1], [x2, y2]]))
        points, good = points_of(node.attributes.get("points", ""))
        if not good:
            complain("bad-points", "has a mistake in its list of points; what comes before it is drawn")
        if len(points) < 2:
            return EMPTY
        return polyline(points, closed=tag == "polygon")

    def _path_element(self, node: Node, complain: Complain) -> Path:
        text = self._styles.geometry(node, "d") or ""
        if text.startswith("path("):
            text = text[5:].rstrip(") ").strip("\"' ")
        parsed = parse_path(text)
        if parsed.error_at is not None:
            near = text.strip()[max(0, parsed.error_at - 8) : parsed.error_at + 12].strip()
            complain(
                "bad-path-data", f"has a mistake in its path data near “{near}”; only what comes before it is drawn"
            )
        return parsed.path

    def _rect(self, node: Node, style: Style, viewport: Viewport, complain: Complain) -> Path:
        width, height = self.x(node, "width", style, viewport), self.y(node, "height", style, viewport)
        if width <= 0 or height <= 0:
            if width < 0 or height < 0:
                complain("negative-size", "has a negative size and is not drawn")
            return EMPTY
        x, y = self.x(node, "x", style, viewport), self.y(node, "y", style, viewport)
        rx = self.length(node, "rx", style, viewport, viewport[0])
        ry = self.length(node, "ry", style, viewport, viewport[1])
        rx = None if rx is not None and rx < 0 else rx
        ry = None if ry is not None and ry < 0 else ry
        rx, ry = (rx if rx is not None else ry or 0.0), (ry if ry is not None else rx or 0.0)
        rx, ry = min(rx, width / 2), min(ry, height / 2)
        return rectangle(x, y, width, height, rx, ry)

    def _ellipse(self, node: Node, style: Style, viewport: Viewport, complain: Complain) -> Path:
        centre = (self.x(node, "cx", style, viewport), self.y(node, "cy", style, viewport))
        if node.tag == "circle":
            rx = ry = self.length(node, "r", style, viewport, diagonal(viewport)) or 0.0
        else:
            given_x = self.length(node, "rx", style, viewport, viewport[0])
            given_y = self.length(node, "ry", style, viewport, viewport[1])
            if (given_x or 0.0) < 0 or (given_y or 0.0) < 0:
                complain("negative-size", "has a negative radius, which counts as none given")
            given_x = None if given_x is not None and given_x < 0 else given_x
            given_y = None if given_y is not None and given_y < 0 else given_y
            rx = given_x if given_x is not None else given_y or 0.0
            ry = given_y if given_y is not None else given_x or 0.0
        if rx <= 0 or ry <= 0:
            if rx < 0 or ry < 0:
                complain("negative-size", "has a negative radius and is not drawn")
            return EMPTY
        return ellipse(centre, rx, ry)


def rectangle(x: float, y: float, width: float, height: float, rx: float = 0.0, ry: float = 0.0) -> Path:
    """A rectangle, its corners rounded by quarter ellipses; sides of no length are left out."""
    if rx <= 0 or ry <= 0:
        return polyline(np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]]), closed=True)
    if rx == width / 2 and ry == height / 2:
        return ellipse((x + rx, y + ry), rx, ry)
    pen = PathBuilder()
    pen.move_to(x + rx, y)
    quarter = math.pi / 2
    for i, (cx, cy) in enumerate(
        ((x + width - rx, y + ry), (x + width - rx, y + height - ry), (x + rx, y + height - ry), (x + rx, y + ry))
    ):
        side = width - 2 * rx if i % 2 == 0 else height - 2 * ry
        start = (i - 1) * quarter
        if side > 1e-9 * max(width, height):
            pen.line_to(cx + rx * round(math.cos(start)), cy + ry * round(math.sin(start)))
        pen.arc(cx, cy, rx, 0.0, 0.0, ry, start, start + quarter)
    pen.close()
    return pen.build()
