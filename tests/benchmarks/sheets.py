"""Three sheets of artwork, 600 x 300 mm, drawn by rule: clean rings, 1 mm strokes, curves that cross themselves."""

import numpy as np

WIDTH_MM, HEIGHT_MM = 600, 300
PER_SHAPE = 100
"""Segments of each shape."""


def clean_rings(segments: int = 100_000) -> bytes:
    """Filled outlines that neither cross nor touch, laid out in rows."""
    rng = np.random.default_rng(1)
    turn = np.linspace(0, 2 * np.pi, PER_SHAPE, endpoint=False)
    waves = np.arange(2, 9)
    places, cell = _places(segments)
    paths = []
    for place in places:
        size, phase = rng.normal(size=len(waves)) / waves, rng.uniform(0, 2 * np.pi, len(waves))
        wave = (size[:, None] * np.cos(waves[:, None] * turn + phase[:, None])).sum(0)
        radius = 0.45 * cell * (0.75 + 0.25 * np.tanh(wave))
        points = place + radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
        paths.append(f'<path d="M{_numbers(points)}z"/>')
    return _page(paths)


def strokes_1_mm(segments: int = 100_000) -> bytes:
    """Lines 1 mm wide that wander about and over each other."""
    rng = np.random.default_rng(2)
    places, cell = _places(segments)
    paths = []
    for place in places:
        heading = rng.uniform(0, 2 * np.pi) + np.cumsum(rng.normal(0, 0.35, PER_SHAPE + 1))
        points = place + np.cumsum(0.06 * cell * np.column_stack([np.cos(heading), np.sin(heading)]), axis=0)
        paths.append(f'<path d="M{_numbers(points)}" fill="none" stroke="#000" stroke-width="1"/>')
    return _page(paths)


def self_crossing_cubics(segments: int = 100_000) -> bytes:
    """Filled curves that cross themselves and their neighbours."""
    rng = np.random.default_rng(3)
    places, cell = _places(segments)
    turn = np.arange(1, 3 * PER_SHAPE + 1) * (2 * np.pi / (3 * PER_SHAPE))
    ring = 0.4 * cell * np.column_stack([np.cos(turn), np.sin(turn)])
    paths = []
    for place in places:
        points = place + ring + rng.normal(0, 0.04 * cell, ring.shape)
        paths.append(f'<path d="M{_numbers(points[-1:])}C{_numbers(points)}z"/>')
    return _page(paths)


SHEETS = {"clean rings": clean_rings, "1 mm strokes": strokes_1_mm, "self-crossing cubics": self_crossing_cubics}


def _places(segments: int) -> tuple[np.ndarray, float]:
    """Middles of the cells of a grid over the sheet, and a cell's width: larger artwork is finer, not denser."""
    count = max(1, segments // PER_SHAPE)
    columns = max(1, round((count * WIDTH_MM / HEIGHT_MM) ** 0.5))
    number = np.arange(count)
    cell = WIDTH_MM / columns
    return cell * (0.5 + np.column_stack([number % columns, number // columns])), cell


def _numbers(points: np.ndarray) -> str:
    return " ".join(map(str, points.round(3).ravel().tolist()))


def _page(paths: list[str]) -> bytes:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}">'
    )
    return f"{head}{''.join(paths)}</svg>".encode()
