"""Lines cut into dashes (SVG 2, 13.5.6 stroke-dasharray and 13.6)."""

import numpy as np

from core.artwork.path import Floats
from core.artwork.stroke_outlines import Chords, Indices

MAX_DASHES = 50_000
"""Finer patterns count as solid: nobody could see them, and they would never end."""


def dashed(chords: Chords, lengths: tuple[float, ...], offset: float) -> Chords:
    """The chords cut into dashes, lengths and offset in the chords' own unit.

    Each subpath begins the pattern anew. A dash of no length keeps its place and direction, for its caps. On a closed
    subpath the last dash runs on into the first. Patterns that add up to nothing, hold a negative
    length or would give more than ``MAX_DASHES`` dashes leave the line solid. ``line`` of the result counts dashes;
    ``source_line`` of each is found by ``dash_sources``.
    """
    return _cut(chords, lengths, offset)[0]


def dash_sources(chords: Chords, lengths: tuple[float, ...], offset: float) -> tuple[Chords, Indices]:
    """As ``dashed``, with the subpath that each dash was cut from."""
    return _cut(chords, lengths, offset)


def _cut(chords: Chords, lengths: tuple[float, ...], offset: float) -> tuple[Chords, Indices]:
    pattern = np.array(lengths * (1 + len(lengths) % 2), float)
    identity = np.arange(len(chords.closed))
    period = float(pattern.sum())
    if not len(pattern) or not np.isfinite(period) or period <= 0 or pattern.min() < 0 or not np.isfinite(offset):
        return chords, identity
    step = np.hypot(*(chords.head - chords.tail).T)
    total = float(step.sum())
    if total / period * len(pattern) / 2 > MAX_DASHES:
        return chords, identity
    pieces = _Pieces()
    for line in np.unique(chords.line):
        own = np.flatnonzero(chords.line == line)
        _cut_line(chords, own, step[own], pattern, offset % period, bool(chords.closed[line]), int(line), pieces)
    return pieces.chords()


class _Pieces:
    """Dashes as they come."""

    def __init__(self) -> None:
        self.parts: list[Chords] = []
        self.sources: list[int] = []
        self.dots: list[tuple[Floats, Floats, int]] = []

    def chords(self) -> tuple[Chords, Indices]:
        """All dashes as chords, and the subpath that each came from."""
        count = len(self.parts)
        dots = self.dots
        empty = np.zeros((0, 2))
        parts = self.parts
        result = Chords(
            tail=np.concatenate([empty, *[part.tail for part in parts]]),
            head=np.concatenate([empty, *[part.head for part in parts]]),
            into=np.concatenate([empty, *[part.into for part in parts]]),
            out=np.concatenate([empty, *[part.out for part in parts]]),
            smooth=np.concatenate([np.zeros(0, bool), *[part.smooth for part in parts]]),
            line=np.repeat(np.arange(count), [len(part.tail) for part in parts]).astype(np.intp),
            closed=np.concatenate([np.zeros(0, bool), *[part.closed for part in parts], np.zeros(len(dots), bool)]),
            dots=np.array([dot for dot, _, _ in dots]).reshape(-1, 2),
            dot_along=np.array([along for _, along, _ in dots]).reshape(-1, 2),
            dot_line=np.arange(count, count + len(dots)),
        )
        return result, np.array([*self.sources, *[line for _, _, line in dots]], np.intp)


def _cut_line(
    chords: Chords, own: Indices, step: Floats, pattern: Floats, offset: float, closed: bool, line: int, pieces: _Pieces
) -> None:
    reach = np.concatenate([[0.0], np.cumsum(step)])
    length = float(reach[-1])
    begins, ends = _intervals(pattern, offset, length)
    if closed and len(begins) and begins[0] <= 0.0 and ends[-1] >= length:
        if len(begins) == 1:  # never lifted
            pieces.parts.append(_slice(chords, own, np.ones(1, bool)))
            pieces.sources.append(line)
            return
        # walk a second lap, so that the last dash runs on into the first
        own = np.concatenate([own, own])
        reach = np.concatenate([reach, reach[1:] + length])
        ends[-1] = length + ends[0]
        begins, ends = begins[1:], ends[1:]
    for begin, end in zip(begins, ends, strict=True):
        if end - begin <= 1e-9 * max(length, 1e-300):
            chord = own[min(int(np.searchsorted(reach, begin, side="right")) - 1, len(own) - 1)]
            local = begin - reach[min(int(np.searchsorted(reach, begin, side="right")) - 1, len(own) - 1)]
            along = (chords.head[chord] - chords.tail[chord]) / max(
                float(np.hypot(*(chords.head[chord] - chords.tail[chord]))), 1e-300
            )
            pieces.dots.append((chords.tail[chord] + along * local, along, line))
            continue
        first = max(int(np.searchsorted(reach, begin, side="right")) - 1, 0)
        last = min(int(np.searchsorted(reach, end, side="left")), len(own))
        piece = _slice(chords, own[first:last], np.zeros(1, bool))
        if not len(piece.tail):
            continue
        _trim(piece, begin - reach[first], reach[last] - end)
        pieces.parts.append(piece)
        pieces.sources.append(line)


def _intervals(pattern: Floats, offset: float, length: float) -> tuple[Floats, Floats]:
    """Where dashes begin and end along a line, clipped to it."""
    edges = np.concatenate([[0.0], np.cumsum(pattern)])
    period = edges[-1]
    laps = np.arange(0, int(np.ceil((length + offset) / period)) + 1) * period - offset
    begins = (laps[:, None] + edges[None, 0:-1:2]).ravel()
    ends = (laps[:, None] + edges[None, 1::2]).ravel()
    keep = (begins < length) & ((ends > 0) | ((begins == ends) & (begins >= 0)))
    return np.maximum(begins[keep], 0.0), np.minimum(ends[keep], length)


def _slice(chords: Chords, which: Indices, closed: np.ndarray) -> Chords:
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
        closed=closed,
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
