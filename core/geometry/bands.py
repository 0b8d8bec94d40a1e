"""Rings cut into upright bands and chained together again: what a sweep does band by band is less than all at once."""

from collections.abc import Iterable

import numpy as np

from core.geometry.path import Floats
from core.geometry.rings import Rings


def cross(a: Floats, b: Floats) -> Floats:
    """Cross products of vectors (..., 2)."""
    result: Floats = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return result


def clamped(rings: Rings, low: float, high: float) -> list[Floats]:
    """The rings with all that lies beside the band low..high pressed onto its borders; windings inside stay.

    Those that lie beside it altogether are left out.
    """
    x = rings.points[:, 0]
    reaches = np.minimum.reduceat(x, rings.starts[:-1]) < high
    reaches &= np.maximum.reduceat(x, rings.starts[:-1]) > low
    found = []
    for i in np.flatnonzero(reaches).tolist():
        ring = rings.points[rings.starts[i] : rings.starts[i + 1]]
        if ring[:, 0].min() < low or ring[:, 0].max() > high:
            ring = _pressed(_cut(_cut(ring, low), high), low, high)
        if len(ring) > 2:
            found.append(ring)
    return found


def _cut(ring: Floats, x: float) -> Floats:
    """The ring with a vertex wherever it crosses x."""
    following = np.roll(ring, -1, axis=0)
    at = np.flatnonzero((ring[:, 0] < x) != (following[:, 0] < x))
    if not len(at) or not np.isfinite(x):
        return ring
    a, b = ring[at], following[at]
    share = (x - a[:, 0]) / (b[:, 0] - a[:, 0])
    y = a[:, 1] + share * (b[:, 1] - a[:, 1])
    return np.insert(ring, at + 1, np.column_stack([np.full(len(at), x), y]), axis=0)


def _pressed(ring: Floats, low: float, high: float) -> Floats:
    ring = np.column_stack([np.clip(ring[:, 0], low, high), ring[:, 1]])
    side = (ring[:, 0] == low) * 1 + (ring[:, 0] == high) * 2
    # of a run along a border only its ends count
    ends: Floats = ring[(side == 0) | (side != np.roll(side, 1)) | (side != np.roll(side, -1))]
    return ends


def chained(bands: Iterable[list[Floats]], borders: Floats) -> list[Floats] | None:
    """Rings of neighbouring bands as one: what runs along a border is left out, the rest chained end to end.

    None where ends do not meet.
    """
    whole: list[Floats] = []
    chains: list[Floats] = []
    for rings in bands:
        for ring in rings:
            on = np.isin(ring[:, 0], borders)
            along = on & np.roll(on, -1) & (ring[:, 0] == np.roll(ring[:, 0], -1))
            if not along.any():
                whole.append(ring)
                continue
            after = np.flatnonzero(along) + 1
            ring = np.roll(ring, -after[0], axis=0)
            stops = after - after[0]
            for begin, end in zip(stops, [*stops[1:], len(ring)], strict=True):
                if end - begin > 1:
                    chains.append(ring[begin:end])
    begins: dict[tuple[float, float], list[int]] = {}
    for number, chain in enumerate(chains):
        begins.setdefault((chain[0, 0], chain[0, 1]), []).append(number)
    left = set(range(len(chains)))
    while left:
        ring_chains = [number := next(iter(left))]
        start = (chains[number][0, 0], chains[number][0, 1])
        begins[start].remove(number)
        left.remove(number)
        while (end := (chains[ring_chains[-1]][-1, 0], chains[ring_chains[-1]][-1, 1])) != start:
            if not begins.get(end):
                return None
            ring_chains.append(begins[end].pop())
            left.remove(ring_chains[-1])
        whole.append(np.concatenate([chains[i][:-1] for i in ring_chains]))
    return whole
