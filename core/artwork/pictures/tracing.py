"""A picture's tones to outlines: one fill by a threshold, levels of grey, or a few flat colours.

Contours of the grey values keep what the pixels' greys say of an edge's place between them, which a tracer of black and
white pixels has thrown away.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.artwork.picture_decisions import TraceOptions
from core.artwork.pictures.colours import colour_fields
from core.artwork.pictures.contouring import Contours, Field, contours_below
from core.artwork.pictures.corners import with_corners
from core.artwork.pictures.curve_fitting import fitted_path
from core.artwork.pictures.opening import Picture
from core.errors import UnreadableError
from core.geometry.path import Floats, Path
from core.progress import Progress, silent

MOST_POINTS = 6_000_000
_LEAST_CONTRAST = 12.0
_IN_BLOCKS = ("JPEG", "MPO")
_BLOCK_NOISE_PX = 0.8
"""Sigma, by trial on known outlines at 150, 300 and 600 dots an inch, quality 75: 0.5 leaves some waves, 1.1 costs
narrow shapes."""
_CLEAR_SHARE = 0.35
"""Of the picture's contrast."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Traced:
    """Outlines of one tone or colour, px from the picture's top left: a closed path (even-odd) and where its parts
    begin.

    parts (p,): index of the first subpath of each outline with its holes. specks, holes: how many were dropped.
    """

    colour: str
    path: Path
    parts: NDArray[np.intp]
    specks: int
    holes: int


def traced(
    picture: Picture, options: TraceOptions, *, least_px: float, progress: Progress = silent
) -> tuple[Traced, ...]:
    """The picture's outlines, lightest first, so that darker ones lie on top.

    least_px: specks and holes narrower than this are dropped. Raises UnreadableError where there is nothing to trace.
    """
    options.check()
    progress(0.2, "tracing the picture")
    layers = []
    for number, (field, level, colour) in enumerate(fields := _fields(picture, options)):
        progress(0.2 + 0.7 * number / len(fields), "tracing the picture")
        contours = contours_below(field, level)
        if len(contours.points) > MOST_POINTS:
            raise UnreadableError(
                "The picture is too grainy to be traced.", hint="Screen it, or soften it where it was made."
            )
        contours, specks, holes = _without_specks(contours, least_px)
        if not len(contours):
            continue
        path = fitted_path(with_corners(contours), tolerance_px=options.tolerance_px)
        layers.append(
            Traced(colour=colour, path=path, parts=np.flatnonzero(contours.is_outer), specks=specks, holes=holes)
        )
    if not layers:
        raise UnreadableError(
            "Nothing of the picture is dark enough to be traced, or large enough to be burned.",
            hint="Move the threshold, or give a greater width.",
        )
    return tuple(layers)


def _fields(picture: Picture, options: TraceOptions) -> list[tuple[Field, float, str]]:
    """(field, level, colour): each fill is where its field lies below the level."""
    if options.colours:
        return [(field, 0.0, colour) for field, colour in colour_fields(picture, options.colours)]
    grey = _with_contrast(picture)
    if options.levels:
        steps = np.linspace(float(grey.min()), float(grey.max()), options.levels + 2)[1:-1][::-1]
        return [
            (
                _calmed(picture, grey, float(step)),
                float(step),
                _grey_word(step - (steps[0] - steps[-1] + 24) / (2 * len(steps))),
            )
            for step in steps
        ]
    # dark and light are parted as asked for, else by N. Otsu, IEEE Trans. SMC 9, 62 (1979)
    level = options.threshold if options.threshold is not None else _otsu(grey)
    # a level that pixels have exactly would run through them
    return [(_calmed(picture, grey, level), level + 1e-3, "#000000")]


def _calmed(picture: Picture, grey: Field, level: float) -> Field:
    """The greys of a JPEG with the waves that its blocks leave along edges smoothed away; others as they are.

    Corners that this rounds are put back where their sides meet (``corners``). What is clearly on one side of the level
    stays there, so that lines a pixel wide are not lost.
    """
    if picture.format not in _IN_BLOCKS:
        return grey
    import scipy.ndimage

    calm: Field = scipy.ndimage.gaussian_filter(grey, _BLOCK_NOISE_PX, mode="nearest")
    clear = _CLEAR_SHARE * float(np.ptp(grey))
    lost = (np.abs(grey - level) > clear) & ((grey < level) != (calm < level))
    calm[lost] = grey[lost]
    return calm


def _with_contrast(picture: Picture) -> Field:
    """The greys, or where a picture is all one tone but for its transparency, that."""
    grey = picture.grey
    if float(grey.max() - grey.min()) >= _LEAST_CONTRAST:
        return grey
    if picture.alpha is not None and float(picture.alpha.max() - picture.alpha.min()) > 0.5:
        result: Field = 255 * (1 - picture.alpha)
        return result
    raise UnreadableError("The picture is all one tone: there is nothing to trace.", hint="Ask for the picture again.")


def _otsu(grey: Field) -> float:
    counts, edges = np.histogram(grey, bins=256, range=(0.0, 255.0))
    middle = (edges[:-1] + edges[1:]) / 2
    below = np.cumsum(counts)
    above = below[-1] - below
    sums = np.cumsum(counts * middle)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = below * above * (sums / below - (sums[-1] - sums) / above) ** 2
    between = np.nan_to_num(between)
    best = np.flatnonzero(between >= between.max() * (1 - 1e-9))
    # a flat top is the gap between two clusters: its middle
    return float(np.clip(edges[1:][best].mean(), 1.0, 254.0))


def _grey_word(grey: float) -> str:
    value = int(np.clip(round(grey), 0, 235))
    return f"#{value:02x}{value:02x}{value:02x}"


def _without_specks(contours: Contours, least_px: float) -> tuple[Contours, int, int]:
    """The contours without parts and holes too narrow to be burned, and how many of either those were.

    As narrow as the least width counts what encloses less than a disc of that width, or is narrower than it all over:
    twice its area over its length is the width of a long thin shape and half that of a round one.
    """
    if not len(contours):
        return contours, 0, 0
    lengths = np.diff(contours.starts)
    following = np.arange(1, len(contours.points) + 1)
    following[contours.starts[1:] - 1] = contours.starts[:-1]
    origin = np.repeat(contours.points[contours.starts[:-1]], lengths, axis=0)
    a, b = contours.points - origin, contours.points[following] - origin
    area = np.abs(np.add.reduceat(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], contours.starts[:-1])) / 2
    around = np.add.reduceat(np.hypot(*(b - a).T), contours.starts[:-1])
    small = (area < np.pi / 4 * least_px**2) | (2 * area < 0.5 * least_px * around)
    small |= (lengths < 4) | (area < 0.5)
    gone = small & contours.is_outer
    of_gone = gone[np.flatnonzero(contours.is_outer)][contours.part]
    holes = small & ~contours.is_outer & ~of_gone
    kept = ~(of_gone | holes)
    part = np.cumsum(contours.is_outer & kept)[kept] - 1
    points, starts = _selected(contours.points, contours.starts, kept)
    return (
        replace(contours, points=points, starts=starts, is_outer=contours.is_outer[kept], part=part.astype(np.intp)),
        int(gone.sum()),
        int(holes.sum()),
    )


def _selected(points: Floats, starts: NDArray[np.intp], kept: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.intp]]:
    lengths = np.diff(starts)
    return points[np.repeat(kept, lengths)], np.concatenate([[0], np.cumsum(lengths[kept])]).astype(np.intp)
