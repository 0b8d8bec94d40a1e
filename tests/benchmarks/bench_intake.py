"""SVG of 5 MB and 100,000 segments: our read beside svgelements' bare parse and resvg's render of the same bytes.

svgelements is the general library that a reader would otherwise stand on; resvg also paints, a picture 1,024 px wide.
Processor time, the best of three runs of each (one of resvg's).
"""

import io
import time
from collections.abc import Iterable

import numpy as np
import resvg_py
import svgelements

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg
from tests.benchmarks import Line, timed

PATHS, SEGMENTS_PER_PATH = 1_000, 100
PAGE = 1_000


def run() -> Iterable[Line]:
    for name, data, least in (
        ("100,000 cubics in 1,000 paths", _cubics(), None),
        ("100,000 lines in 1,000 paths", _lines(), None),
        ("100,000 mixed commands in 20,000 paths", _short_paths(), 4.0),
        ("10,000 styled circles", _circles(), 3.0),
        ("10,000 use", _uses(), 3.0),
        ("10,000 stroked lines", _stroked_lines(), 3.0),
    ):
        text = data.decode()
        # no result is kept: what lives on slows down whatever comes after, as the collector looks through it
        ours = timed(lambda data=data: len(read_svg(data, ReadOptions()).shapes), repeats=3, clock=time.process_time)
        bare = timed(
            lambda text=text: svgelements.SVG.parse(io.StringIO(text)) and None,
            repeats=3,
            clock=time.process_time,
        )
        painted = timed(
            lambda text=text: resvg_py.svg_to_bytes(svg_string=text, skip_system_fonts=True, width=1024),
            clock=time.process_time,
        )
        label = f"read SVG, {name}, {len(data) / 1e6:.1f} MB"
        note = f"{ours.result:,} shapes"
        for reference, other in (("svgelements' bare parse", bare), ("resvg's render", painted)):
            yield Line(
                name=label,
                time_s=ours.time_s,
                reference=reference,
                reference_s=other.time_s,
                peak_mib=ours.peak_mib,
                note=note,
                at_least=least if other is bare else None,
            )


def _cubics() -> bytes:
    """Relative cubics with four decimals, as editors save them."""
    random = np.random.default_rng(1)
    steps = random.uniform(-20, 20, (PATHS, SEGMENTS_PER_PATH, 6))
    return _document("c", random.uniform(100, PAGE - 100, (PATHS, 2)), steps.round(4))


def _lines() -> bytes:
    """Relative lines with all the decimals a program can write."""
    random = np.random.default_rng(2)
    steps = random.uniform(-20, 20, (PATHS, SEGMENTS_PER_PATH, 2))
    return _document("l", random.uniform(100, PAGE - 100, (PATHS, 2)), steps)


def _document(command: str, starts: np.ndarray, steps: np.ndarray) -> bytes:
    paths = []
    for start, of_path in zip(starts, steps, strict=True):
        numbers = ",".join(map(repr, of_path.ravel().tolist()))
        paths.append(f'<path d="M{start[0]:.3f} {start[1]:.3f}{command}{numbers}z" fill="#123"/>')
    return _page(paths)


def _short_paths() -> bytes:
    """Five commands a path, styled one by one: what a path costs besides its numbers."""
    random = np.random.default_rng(3)
    paths = []
    for numbers in random.uniform(-50, 50, (20_000, 16)).round(6).tolist():
        a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q = numbers
        data = f"M{a} {b}h{c}v{d}c{e} {f} {g} {h} {i} {j}s{k} {m} {n} {o}l{p} {q}z"
        paths.append(f'<path d="{data}" style="fill:#123;stroke:none" transform="translate(500 500)"/>')
    return _page(paths)


def _circles() -> bytes:
    places = np.random.default_rng(4).uniform(10, PAGE - 10, (10_000, 2)).round(2).tolist()
    return _page([f'<circle cx="{x}" cy="{y}" r="5" style="fill:#123;stroke:#456;stroke-width:2"/>' for x, y in places])


def _uses() -> bytes:
    places = np.random.default_rng(5).uniform(0, PAGE - 10, (10_000, 2)).round(2).tolist()
    leaf = '<defs><path id="leaf" d="M0 0c3 0 6 3 6 6c-3 0-6-3-6-6z"/></defs>'
    return _page([leaf, *(f'<use href="#leaf" x="{x}" y="{y}" fill="#123"/>' for x, y in places)])


def _stroked_lines() -> bytes:
    ends = np.random.default_rng(6).uniform(0, PAGE, (10_000, 4)).round(2).tolist()
    return _page([f'<line x1="{a}" y1="{b}" x2="{c}" y2="{d}" stroke="#123" stroke-width="2"/>' for a, b, c, d in ends])


def _page(paths: list[str]) -> bytes:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{PAGE}" height="{PAGE}">'
    return f"{head}{''.join(paths)}</svg>".encode()
