"""A picture's tones screened for a recipe: spans whose bared share follows the wanted tone, and what is not held."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from core.artwork.picture_decisions import ScreenOptions
from core.artwork.tone_map import Tones
from core.burning.dose import ClearingLine, Floats
from core.burning.screens.bared_rows import bared_share
from core.burning.screens.dots import DotScreen
from core.burning.screens.grain import GrainScreen
from core.burning.screens.holding import Held, held_tones
from core.burning.screens.lines import LineScreen
from core.burning.screens.spans import Spans, clipped
from core.burning.screens.tone_curve import ToneCurve
from core.burning.screens.tone_source import Greys, ToneSource, tone_source, uniform_source
from core.errors import JobError
from core.geometry.affine import Affine
from core.geometry.region import BaseGeometry
from core.progress import Progress, part, silent
from core.units import MM_PER_INCH

AnyScreen = LineScreen | DotScreen | GrainScreen

MOST_CELLS = 6_000_000
_STEPS = 65
_USUAL_GRAIN = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Screened:
    """A picture as spans, and what is told of it.

    source: what was wanted, in the scan frame, fitted into what is held where that was asked for. cell_mm: length and
    height of the cells over which its tones are made; lines_per_inch: as made; tone_count: how many tones its cells
    hold; lightest: the first one over nothing. clipped_share: how much of the picture is darker than what is held.
    px_mm: of the picture.
    """

    spans: Spans
    source: ToneSource
    cell_mm: tuple[float, float]
    held: Held
    curve: ToneCurve
    lines_per_inch: float
    tone_count: int
    lightest: float
    px_mm: float
    clipped_share: float


def screened(
    tones: Tones,
    options: ScreenOptions,
    line: ClearingLine,
    *,
    pitch_mm: float,
    drawing_to_scan: Affine,
    clip: BaseGeometry | None = None,
    lattice_y_mm: float | None = None,
    progress: Progress = silent,
) -> Screened:
    """The picture as spans of rows at the pitch, in the scan frame.

    clip: scan frame. lattice_y_mm: a height that the rows of all pictures of a layer lie half a pitch off; None begins
    them at the picture's own edge.
    Raises JobError where the recipe bares nothing, where the ruling is finer than it holds, or cells run into millions.
    """
    options.check()
    held = held_tones(line, pitch_mm=pitch_mm)
    if held is None:
        raise JobError(
            "The recipe bares nothing, so no picture can be screened.", hint="Give more power or less speed."
        )
    screen, lines_per_inch = screen_of(options, held, line)
    source = tone_source(tones, drawing_to_scan)
    if lattice_y_mm is not None:
        source = source.on_lattice(lattice_y_mm, pitch_mm)
    x0, y0, x1, y1 = source.bounds_mm
    cells = (x1 - x0) * (y1 - y0) / pitch_mm / (MM_PER_INCH / lines_per_inch)
    if cells > MOST_CELLS:
        raise JobError(
            f"A ruling of {lines_per_inch:.0f} cuts this picture into {cells / 1e6:.0f} million cells.",
            hint=f"Give a ruling of at most {lines_per_inch * MOST_CELLS / cells:.0f}, or a smaller picture.",
        )
    progress(0.1, "measuring tones")
    curve = tone_curve(screen, line)
    wanted_of = _fitted(curve) if options.fit_tones else _as_wanted
    progress(0.3, "screening the picture")
    asked = wanted_of(tones.wanted)
    source = replace(source, wanted=asked)
    spans = screen.spans(source, curve.nominal, progress=part(progress, 0.3, 0.9))
    if clip is not None:
        spans = clipped(spans, clip)
    progress(0.9, "screening the picture")
    return Screened(
        spans=spans,
        source=source,
        cell_mm=(MM_PER_INCH / lines_per_inch, _cell_height_mm(screen)),
        held=held,
        curve=curve,
        lines_per_inch=lines_per_inch,
        tone_count=_tone_count(screen, held, lines_per_inch),
        lightest=curve.lightest,
        px_mm=tones.px_mm,
        clipped_share=float((asked > curve.darkest + 0.005).mean()),
    )


def _tone_count(screen: AnyScreen, held: Held, lines_per_inch: float) -> int:
    """Tones of one cell: lengths of its span, or of a dot its rows times theirs; grains make any by their number."""
    if isinstance(screen, LineScreen):
        return held.tones_at(lines_per_inch)
    rows = max(1.0, MM_PER_INCH / lines_per_inch / held.pitch_mm)
    if isinstance(screen, DotScreen):
        return max(2, round(rows * max(0.0, MM_PER_INCH / lines_per_inch - held.span_mm) / held.step_mm) + 1)
    return 65  # eight by eight grains, on or off


def _cell_height_mm(screen: AnyScreen) -> float:
    return screen.dot_mm if isinstance(screen, DotScreen) else screen.pitch_mm


def _as_wanted(wanted: Greys) -> Greys:
    return wanted


def _fitted(curve: ToneCurve) -> Callable[[Greys], Greys]:
    def fitted(wanted: Greys) -> Greys:
        return wanted * np.float32(curve.darkest)

    return fitted


def _nominal_as_wanted(wanted: Floats) -> Floats:
    return wanted


def screen_of(options: ScreenOptions, held: Held, line: ClearingLine) -> tuple[AnyScreen, float]:
    """The screen and its ruling. Raises JobError where the ruling is finer than the recipe holds."""
    finest = held.finest_lines_per_inch if options.kind != "grain" else MM_PER_INCH / held.span_mm
    usual = held.usual_lines_per_inch if options.kind != "grain" else math.floor(finest / _USUAL_GRAIN)
    if options.kind == "dots":
        usual = min(usual, max(2.0, 5.0 * math.floor(MM_PER_INCH / held.pitch_mm / 6 / 5)))
    asked = options.lines_per_inch or float(usual)
    if asked > finest * 1.001:
        cell_mm = MM_PER_INCH / finest
        raise JobError(
            f"A ruling of {asked:g} an inch is finer than this recipe holds; a cell needs {cell_mm:.3f} mm.",
            hint=f"Give a ruling of at most {math.floor(finest)}.",
        )
    cell_mm = MM_PER_INCH / asked
    if options.kind == "lines":
        line_screen = LineScreen(pitch_mm=held.pitch_mm, cell_mm=cell_mm, span_mm=held.span_mm, gap_mm=held.gap_mm)
        return line_screen, asked
    if options.kind == "grain":
        return GrainScreen(pitch_mm=held.pitch_mm, cell_mm=cell_mm), asked
    dot_screen = DotScreen(
        pitch_mm=held.pitch_mm,
        dot_mm=cell_mm,
        angle_deg=options.angle_deg % 90.0,
        span_mm=held.span_mm,
        gap_mm=held.gap_mm,
        step_mm=min(line.spot_mm / 4, cell_mm / 10),
    )
    return dot_screen, asked


@lru_cache(maxsize=64)
def tone_curve(screen: AnyScreen, line: ClearingLine) -> ToneCurve:
    """What shares a screen bares, by the model, from patches of one tone each."""
    asked = np.unique(np.concatenate([np.linspace(0.0, 1.0, _STEPS), [k for k in screen.knots if 0 < k < 1]]))
    bared = np.array([_patch_share(screen, line, float(share)) for share in asked])
    bared = np.maximum.accumulate(bared)
    some = bared[bared > 1e-4]
    return ToneCurve(
        asked=asked,
        bared=bared,
        lightest=float(some[0]) if len(some) else 0.0,
        darkest=float(bared[-1]),
    )


def _patch_share(screen: AnyScreen, line: ClearingLine, share: float) -> float:
    width_mm, height_mm = screen.patch_mm
    source = uniform_source(share, width_mm=width_mm, height_mm=height_mm)
    spans = screen.spans(source, _nominal_as_wanted)
    from_mm, to_mm, rows = screen.seen
    return bared_share(spans, line, from_mm=from_mm, to_mm=to_mm, rows=rows)
