"""Paths and regions as SVG path data (SVG 2, 9.3), curves kept."""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.path import ARC, LINE, Path


def polygons(region: BaseGeometry) -> list[shapely.Polygon]:
    """The polygons of a region, largest pieces' order kept."""
    parts = shapely.get_parts(region)
    return [part for part in parts if isinstance(part, shapely.Polygon) and not part.is_empty]


def polygon_data(polygon: shapely.Polygon) -> str:
    """Path data of a polygon with its holes (even-odd)."""
    return " ".join(_ring_data(shapely.get_coordinates(ring)) for ring in (polygon.exterior, *polygon.interiors))


def path_data(path: Path) -> str:
    """Path data of a path; circular and elliptical arcs stay arcs, cubics cubics."""
    return " ".join(_subpath_data(subpath) for subpath in path.subpaths())


def _subpath_data(path: Path) -> str:
    start = path.start_points[0]
    parts = [f"M{number(start[0])} {number(start[1])}"]
    closed = bool(path.closed[0])
    ends = path.end_points
    for index, (kind, row) in enumerate(zip(path.kinds, path.segments, strict=True)):
        last = closed and index == len(path) - 1
        if kind == LINE:
            if not last:  # the closing line is what Z draws
                parts.append(f"L{number(row[2])} {number(row[3])}")
        elif kind == ARC:
            parts.append(_arc_data(row, start if last else ends[index]))
        else:
            parts.append("C" + " ".join(number(value) for value in row[2:8]))
    if closed:
        parts.append("Z")
    return "".join(parts)


def _arc_data(row: np.ndarray, end: np.ndarray) -> str:
    """A commands of one ARC row; split in two where it sweeps half a turn or more, since A is ambiguous there."""
    centre, u, v = row[0:2], row[2:4], row[4:6]
    t0, t1 = float(row[6]), float(row[7])
    axes, scale, _ = np.linalg.svd(np.column_stack([u, v]))
    tilt_deg = np.degrees(np.arctan2(axes[1, 0], axes[0, 0]))
    sweep = int((t1 > t0) == (u[0] * v[1] - u[1] * v[0] > 0))
    pieces = max(1, int(np.ceil(abs(t1 - t0) / 3.0)))
    data = []
    for piece in range(1, pieces + 1):
        t = t0 + (t1 - t0) * piece / pieces
        point = end if piece == pieces else centre + u * np.cos(t) + v * np.sin(t)
        radii = f"{number(scale[0])} {number(scale[1])} {number(tilt_deg)}"
        data.append(f"A{radii} 0 {sweep} {number(point[0])} {number(point[1])}")
    return "".join(data)


def _ring_data(points: np.ndarray) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points[:-1].tolist()) + "Z"


def number(value: float) -> str:
    """To a millionth of a mm, without needless zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def bands_data(corners: np.ndarray, *, at_once: int) -> Iterator[str]:
    """Path data of so many four-cornered bands (n, 4, 2) at a time, to 0.1 µm; level and upright sides by H and V."""
    for first in range(0, len(corners), at_once):
        some = corners[first : first + at_once].round(4)
        x, y = some[..., 0], some[..., 1]
        texts = [f"{value:.4f}".rstrip("0").rstrip(".") for value in some.ravel().tolist()]
        texts = ["0" if text == "-0" else text for text in texts]
        if (y[:, 0] == y[:, 1]).all() and (x[:, 1] == x[:, 2]).all():
            if (y[:, 2] == y[:, 3]).all():
                yield "".join(
                    f"M{texts[k]} {texts[k + 1]}H{texts[k + 2]}V{texts[k + 5]}H{texts[k]}Z"
                    for k in range(0, len(texts), 8)
                )
                continue
        elif (x[:, 0] == x[:, 1]).all() and (y[:, 1] == y[:, 2]).all() and (x[:, 2] == x[:, 3]).all():
            yield "".join(
                f"M{texts[k]} {texts[k + 1]}V{texts[k + 3]}H{texts[k + 4]}V{texts[k + 1]}Z"
                for k in range(0, len(texts), 8)
            )
            continue
        yield "".join(
            f"M{texts[k]} {texts[k + 1]}L{texts[k + 2]} {texts[k + 3]}L{texts[k + 4]} {texts[k + 5]}"
            f"L{texts[k + 6]} {texts[k + 7]}Z"
            for k in range(0, len(texts), 8)
        )


MANY_POLYGONS = 5_000
"""From so many on, as screens of pictures have them, they share paths like rows do, and are written to 0.1 µm."""


def many_polygons_data(parts: list[shapely.Polygon], *, at_once: int) -> Iterator[str]:
    """Path data of so many polygons without holes at a time; level and upright sides by H and V."""
    rings = shapely.get_rings(np.array(parts, object))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    text_x, text_y = ([f"{value:.4f}".rstrip("0").rstrip(".") for value in column] for column in points.T.tolist())
    starts = np.searchsorted(ring, np.arange(len(rings) + 1)).tolist()
    for first in range(0, len(rings), at_once):
        pieces = []
        for own in range(first, min(first + at_once, len(rings))):
            at, stop = starts[own], starts[own + 1] - 1
            pieces.append(f"M{text_x[at]} {text_y[at]}")
            for k in range(at + 1, stop):
                if text_y[k] == text_y[k - 1]:
                    pieces.append(f"H{text_x[k]}")
                elif text_x[k] == text_x[k - 1]:
                    pieces.append(f"V{text_y[k]}")
                else:
                    pieces.append(f"L{text_x[k]} {text_y[k]}")
            pieces.append("Z")
        yield "".join(pieces)
