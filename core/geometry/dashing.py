"""Lines cut into dashes (SVG 2, 13.5.6 stroke-dasharray and 13.6)."""

import numpy as np

from core.geometry.path import Floats
from core.geometry.stroke_outlines import Chords, Indices

MAX_DASHES = 50_000
"""Finer patterns count as solid: nobody could see them, and they would never end."""

_HAIR = 1e-9
"""Lengths less than this, relative to the line's, are left by rounding."""


def dashed(chords: Chords, dashes: tuple[float, ...], offset: float) -> Chords:
    """The chords cut into dashes, lengths and offset in the chords' own unit; ``line`` of the result counts dashes.

    Each subpath begins the pattern anew. A dash of no length keeps its place and direction, for its caps. On a closed
    subpath the last dash runs on into the first. Patterns that add up to nothing, hold a negative length or would
    give more than ``MAX_DASHES`` dashes leave the line solid.
    """
    length = np.hypot(*(chords.head - chords.tail).T)
    intervals = dash_intervals(length, chords.line, dashes, offset)
    if intervals is None:
        return chords
    pieces = _Pieces()
    for line, begins, ends in intervals:
        own = np.flatnonzero(chords.line == line)
        _cut_line(chords, own, length[own], begins, ends, bool(chords.closed[line]), pieces)
    return pieces.chords()


def dash_intervals(
    length: Floats, line: Indices, dashes: tuple[float, ...], offset: float
) -> list[tuple[int, Floats, Floats]] | None:
    """(line, where dashes begin, where they end) for each line made of steps of these lengths; None for solid.

    length, line: (n,) a step, lines rising. Places count from the start of the line.
    """
    pattern = np.array(dashes * (1 + len(dashes) % 2), float)
    period = float(pattern.sum())
    if not len(pattern) or not np.isfinite(period) or period <= 0 or pattern.min() < 0 or not np.isfinite(offset):
        return None
    if float(length.sum()) / period * len(pattern) / 2 > MAX_DASHES:
        return None
    numbers, which = np.unique(line, return_inverse=True)
    totals = np.bincount(which, weights=length, minlength=len(numbers))
    return [
        (int(number), *_intervals(pattern, offset % period, float(total)))
        for number, total in zip(numbers, totals, strict=True)
    ]


class _Pieces:
    """Dashes as they come."""

    def __init__(self) -> None:
        self.parts: list[Chords] = []
        self.dots: list[tuple[Floats, Floats]] = []

    def chords(self) -> Chords:
        """All dashes as chords."""
        count = len(self.parts)
        dots = self.dots
        empty = np.zeros((0, 2))
        parts = self.parts
        return Chords(
            tail=np.concatenate([empty, *[part.tail for part in parts]]),
            head=np.concatenate([empty, *[part.head for part in parts]]),
            into=np.concatenate([empty, *[part.into for part in parts]]),
            out=np.concatenate([empty, *[part.out for part in parts]]),
            smooth=np.concatenate([np.zeros(0, bool), *[part.smooth for part in parts]]),
            line=np.repeat(np.arange(count), [len(part.tail) for part in parts]).astype(np.intp),
            closed=np.concatenate([np.zeros(0, bool), *[part.closed for part in parts], np.zeros(len(dots), bool)]),
            dots=np.array([dot for dot, _ in dots]).reshape(-1, 2),
            dot_along=np.array([along for _, along in dots]).reshape(-1, 2),
            dot_line=np.arange(count, count + len(dots)),
        )


def _cut_line(
    chords: Chords, own: Indices, step: Floats, begins: Floats, ends: Floats, closed: bool, pieces: _Pieces
) -> None:
    reach = np.concatenate([[0.0], np.cumsum(step)])
    length = float(reach[-1])
    if closed and len(begins) and begins[0] <= 0.0 and ends[-1] >= length:
        if len(begins) == 1:  # never lifted
            pieces.parts.append(_slice(chords, own, closed=True))
            return
        # walk a second lap, so that the last dash runs on into the first
        own = np.concatenate([own, own])
        reach = np.concatenate([reach, reach[1:] + length])
        ends = np.append(ends[1:-1], length + ends[0])
        begins = begins[1:]
    hair = _HAIR * length
    for begin, end in zip(begins, ends, strict=True):
        first = min(max(int(np.searchsorted(reach, begin + hair, side="right")) - 1, 0), len(own) - 1)
        if end - begin <= hair:
            tail, head = chords.tail[own[first]], chords.head[own[first]]
            along = (head - tail) / np.hypot(*(head - tail))
            pieces.dots.append((tail + along * (begin - reach[first]), along))
            continue
        last = min(int(np.searchsorted(reach, end - hair, side="left")), len(own))
        piece = _slice(chords, own[first:last], closed=False)
        _trim(piece, begin - reach[first], reach[last] - end)
        pieces.parts.append(piece)


def _intervals(pattern: Floats, offset: float, length: float) -> tuple[Floats, Floats]:
    """Where dashes begin and end along a line, clipped to it."""
    edges = np.concatenate([[0.0], np.cumsum(pattern)])
    period = edges[-1]
    laps = np.arange(0, int(np.ceil((length + offset) / period)) + 1) * period - offset
    begins = (laps[:, None] + edges[None, 0:-1:2]).ravel()
    ends = (laps[:, None] + edges[None, 1::2]).ravel()
    hair = _HAIR * length  # a dash that only rounding leaves on the line is none
    dots = (begins == ends) & (begins >= -hair) & (begins < length)
    keep = dots | ((begins < length - hair) & (ends > hair))
    return np.maximum(begins[keep], 0.0), np.minimum(ends[keep], length)


def _slice(chords: Chords, which: Indices, *, closed: bool) -> Chords:
    smooth = chords.smooth[which]
    smooth[:1] = False
    none = np.zeros((0, 2))
    return Chords(
        tail=chords.tail[which],
        head=chords.head[which],
        into=chords.into[which],
        out=chords.out[which],
        smooth=smooth,
        line=np.zeros(len(which), np.intp),
        closed=np.array([closed]),
        dots=none,
        dot_along=none,
        dot_line=np.zeros(0, np.intp),
    )


def _trim(piece: Chords, from_start: float, from_end: float) -> None:
    """Shortens the first and the last chord, in place."""
    along = piece.head[[0, -1]] - piece.tail[[0, -1]]
    direction = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-300)[:, None]
    if from_start > 0:
        piece.tail[0] += direction[0] * from_start
        piece.into[0] = direction[0]
    if from_end > 0:
        piece.head[-1] -= direction[1] * from_end
        piece.out[-1] = direction[1]
