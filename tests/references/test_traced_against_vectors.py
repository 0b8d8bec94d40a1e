"""Traced pictures against the vectors they were rendered from.

resvg (a general SVG renderer, through resvg_py) paints known outlines at 150, 300 and 600 dots an inch, plain and as
JPEG at quality 75 (Pillow); shapely (GEOS) measures intersection over union and Hausdorff distance.
"""

import io

import numpy as np
import pytest
import shapely
from PIL import Image

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.picture_decisions import TraceOptions
from core.artwork.reading import read_artwork
from core.geometry.engine import united
from core.geometry.path import CUBIC, Path
from tests.core.artwork.pictures.made_pictures import file_bytes, reading

SHAPES = {
    "house": ('<path d="M10 10 L60 10 L60 40 L35 55 L10 40 Z"/>', 5),
    "disc": ('<circle cx="40" cy="30" r="20"/>', 0),
    "star": (
        '<path d="M40 5 L46.5 23 L65 23 L50 34.5 L55.5 52.5 L40 42 L24.5 52.5 L30 34.5 L15 23 L33.5 23 Z"/>',
        10,
    ),
    "ring": (
        '<path fill-rule="evenodd" d="M40 10 a20 20 0 1 0 .001 0z M40 20 a10 10 0 1 0 .001 0z"/>',
        0,
    ),
    "leaf": ('<path d="M10 50 C 20 5, 60 5, 70 10 C 65 40, 45 60, 10 50 Z"/>', 2),
    "rounded": ('<rect x="10" y="10" width="60" height="40" rx="4"/><rect x="3" y="3" width="1.2" height="50"/>', 4),
}
LEAST_OVERLAP = {150: 0.985, 300: 0.99, 600: 0.995}


def svg(body: str, width: str, height: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 80 60">{body}</svg>'


def region(drawing: Drawing) -> shapely.Geometry:
    return united(painted_regions(drawing.shapes, tolerance_mm=0.0005)[0])


def picture(body: str, dpi: int, jpeg_quality: int | None) -> ArtworkSource:
    import resvg_py

    width_px = 4 * round(80 / 25.4 * dpi / 4)
    png = resvg_py.svg_to_bytes(svg_string=svg(body, str(width_px), str(width_px * 3 // 4)), background="white")
    image = Image.open(io.BytesIO(bytes(png))).convert("RGB")
    buffer = io.BytesIO()
    if jpeg_quality is None:
        image.save(buffer, "PNG")
    else:
        image.save(buffer, "JPEG", quality=jpeg_quality)
    return ArtworkSource(name="shape", data=buffer.getvalue())


def furthest(one: shapely.Geometry, other: shapely.Geometry, px_mm: float) -> float:
    """How far the first outline strays from the second at most (half of a Hausdorff distance)."""
    line = other.boundary
    shapely.prepare(line)
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(one.boundary, px_mm / 2)))
    return float(shapely.distance(points, line).max())


def corner_count(path: Path, *, least_deg: float = 25.0) -> int:
    """Joints of closed subpaths at which the direction jumps."""
    count = 0
    for sub in path.subpaths():
        rows, curved = sub.segments, (sub.kinds == CUBIC)[:, None]
        chord = sub.end_points - sub.start_points
        first = np.where(curved, rows[:, 2:4] - rows[:, 0:2], chord)
        last = np.roll(np.where(curved, rows[:, 6:8] - rows[:, 4:6], chord), 1, axis=0)
        turn = np.arctan2(last[:, 0] * first[:, 1] - last[:, 1] * first[:, 0], (last * first).sum(1))
        count += int((np.abs(np.degrees(turn)) > least_deg).sum())
    return count


@pytest.mark.parametrize("jpeg_quality", [None, 75])
@pytest.mark.parametrize("dpi", [150, 300, 600])
def test_outlines_come_back(dpi: int, jpeg_quality: int | None) -> None:
    for name, (body, corners) in SHAPES.items():
        plain = read_artwork(ArtworkSource(name="a.svg", data=svg(body, "80mm", "60mm").encode()), ReadOptions())
        truth = region(plain)
        drawing = read_artwork(picture(body, dpi, jpeg_quality), reading(width_mm=80.0))
        found = region(drawing)
        overlap = found.intersection(truth).area / found.union(truth).area
        assert overlap >= LEAST_OVERLAP[dpi], (name, overlap)
        px_mm = 25.4 / dpi
        assert max(furthest(found, truth, px_mm), furthest(truth, found, px_mm)) < 0.5 * px_mm, name
        traced = sum(corner_count(shape.path) for shape in drawing.shapes)
        assert abs(traced - corners) <= 1, (name, traced)


@pytest.mark.parametrize("quality", [75, 90])
def test_lines_a_pixel_wide_are_not_lost_in_a_jpeg(quality: int) -> None:
    grey = np.full((60, 120), 255, np.uint8)
    grey[20, 10:110] = 0
    grey[40:42, 10:110] = 0
    source = ArtworkSource(name="lines.jpg", data=file_bytes(Image.fromarray(grey), "JPEG", quality=quality))
    drawing = read_artwork(source, reading(width_mm=12.0, trace=TraceOptions(least_mm=0.01)))
    widths = sorted(round(shape.bounds[2] - shape.bounds[0], 1) for shape in shapely.get_parts(region(drawing)))
    assert len(widths) == 2 and widths[0] > 9.5
