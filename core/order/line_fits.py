"""Text fitted into the room that the design gives it: measured as it is drawn, made narrower, smaller, or two lines."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, ReadOptions
from core.geometry.affine import Affine, apply_to_region
from core.geometry.flattening import flatten
from core.geometry.path import joined
from core.order.fields import Field, with_values
from core.order.templates import PLAIN, Line, Probe, Setting, Template

Anchor = Literal["start", "middle", "end"]
_FAR_MM = 1e5
_FITS = 1.002
_STEP = 0.03
_TOLERANCE_MM = 0.005


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """How a line runs: ``to_line`` takes the drawing to a frame whose x runs along it; where its anchor is there, and
    which end of the text stands there; mm for each unit of the file. None of it is known of text along a path."""

    to_line: Affine
    anchor: Anchor
    anchor_mm: float
    mm_per_unit: float
    middle: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFit:
    """What was done to a line so that it fits.

    width_mm: of its ink; room_mm: what there was, None: not known; needed_mm: what it takes, its anchor where it is.
    """

    line: Line
    setting: Setting
    width_mm: float
    room_mm: float | None
    needed_mm: float = 0.0
    too_long: bool = False
    why_not: str = ""

    @property
    def words(self) -> str:
        """What was done, in words; empty where nothing had to be."""
        done = []
        if self.setting.lines:
            done.append("set in two lines")
        if self.setting.width_share < 1:
            done.append(f"made narrower, {100 * self.setting.width_share:.0f} % of its width")
        if self.setting.size_share < 1:
            done.append(f"made smaller, {100 * self.setting.size_share:.0f} % of its size")
        return ", ".join(done)


def course_of(template: Template, line: Line, options: ReadOptions) -> Course | None:
    """How the line runs; None where that can't be told: nothing of it shows, or it follows a path."""

    def points(probe: Probe) -> NDArray[np.float64]:
        return _points(template.read_line(line, {}, PLAIN, options, probe))

    near, far = (points(Probe(text="nnn", moved=moved)) for moved in (10.0, 20.0))
    if not len(near) or near.shape != far.shape:
        return None
    shift = far - near
    step = shift.mean(0)
    length = float(np.hypot(*step))
    if length <= 1e-9 or float(np.abs(shift - step).max()) > 1e-3 * length:
        return None
    across, down = (step / length).tolist()
    to_line: Affine = (across, -down, down, across, 0.0, 0.0)
    short, long = points(Probe(text="n")), points(Probe(text="nnnnn"))
    if not len(short) or not len(long):
        return None
    (left, right), (far_left, far_right) = (_along(some, to_line) for some in (short, long))
    grown = (far_right - far_left) - (right - left)
    anchor: Anchor = (
        "start" if left - far_left < 0.1 * grown else "end" if far_right - right < 0.1 * grown else "middle"
    )
    at = {"start": left, "end": right, "middle": (far_left + far_right) / 2}[anchor]
    middle = short.mean(0)
    return Course(
        to_line=to_line,
        anchor=anchor,
        anchor_mm=at,
        mm_per_unit=length / 10.0,
        middle=(float(middle[0]), float(middle[1])),
    )


def fitted_line(
    template: Template,
    line: Line,
    values: Mapping[str, str],
    field: Field,
    course: Course | None,
    free: BaseGeometry,
    options: ReadOptions,
    *,
    plain: Drawing | None = None,
) -> LineFit:
    """The line with these values, fitted as the field says. free: where text may be, in the drawing's frame.

    plain: the line as it comes, where it was read already.
    """

    def measured(setting: Setting) -> "_Ink | None":
        return _ink(template.read_line(line, values, setting, options), course)

    if plain is None:
        plain = template.read_line(line, values, PLAIN, options)
    ink = _ink(plain, course)
    if ink is None or course is None:
        why_not = "it runs along a path" if course is None and field.fit != "as it is" else ""
        return LineFit(line=line, setting=PLAIN, width_mm=0.0, room_mm=None, why_not=why_not)
    room = _Room(course, field, apply_to_region(course.to_line, free), _cut_by(plain))

    def fit(setting: Setting, inked: _Ink, *, why_not: str = "") -> LineFit:
        length_mm, share = room.length(inked), room.share(inked)
        return LineFit(
            line=line,
            setting=setting,
            width_mm=inked.right - inked.left,
            room_mm=length_mm,
            needed_mm=length_mm / share if share > 0 else inked.right - inked.left,
            too_long=share < 1.0 / _FITS,
            why_not=why_not,
        )

    if room.share(ink) >= 1.0 / _FITS or field.fit == "as it is":
        return fit(PLAIN, ink)
    least = field.limit_pct / 100.0
    if field.fit == "two lines":
        words = _whole_words(line, values)
        if not line.can_split or len(words) < 2:
            return fit(PLAIN, ink, why_not=line.why_not or "it is one word")
        pairs = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words))]
        pairs = sorted(pairs, key=lambda pair: max(map(len, pair)))[:3]
        tried = [(Setting(lines=pair), inked) for pair in pairs if (inked := measured(Setting(lines=pair))) is not None]
        if not tried:
            return fit(PLAIN, ink)
        two = _shrunk(*max(tried, key=lambda one: room.share(one[1])), least, room, measured)
        if room.share(two[1]) >= 1.0 / _FITS:
            return fit(*two)
        one = _shrunk(PLAIN, ink, least, room, measured)  # two lines may be too high where one is not too long
        return fit(*max(two, one, key=lambda found: room.share(found[1])))
    if field.fit == "smaller":
        return fit(*_shrunk(PLAIN, ink, least, room, measured))
    start, end = (
        _ink(template.read_line(line, values, PLAIN, options, Probe(anchor=anchor)), course)
        for anchor in ("start", "end")
    )
    advance = abs(start.left - end.left) / course.mm_per_unit if start and end else 0.0
    return fit(*_narrowed(advance, ink, least, room, measured))


_Measure = Callable[[Setting], "_Ink | None"]


def _shrunk(setting: Setting, ink: "_Ink", least: float, room: "_Room", measured: _Measure) -> tuple[Setting, "_Ink"]:
    """The largest size at which it fits, no smaller than the least."""
    share = 1.0
    while room.share(ink) < 1.0 / _FITS and share > least:
        share = max(least, min(share * max(room.share(ink), 0.5) if room.share(ink) else share, share - _STEP / 3))
        setting = replace(setting, size_share=share)
        ink = measured(setting) or ink
    return setting, ink


def _narrowed(advance: float, ink: "_Ink", least: float, room: "_Room", measured: _Measure) -> tuple[Setting, "_Ink"]:
    """The greatest width at which it fits, no narrower than the least. advance: of the whole line, in its unit."""
    setting, share = PLAIN, 1.0
    while room.share(ink) < 1.0 / _FITS and share > least:
        share = max(least, min(share * room.share(ink), share - 0.002))
        setting = Setting(length=advance * share, width_share=share)
        ink = measured(setting) or ink
    return setting, ink


@dataclass(frozen=True, slots=True)
class _Ink:
    """The box of what is drawn, in the line's frame."""

    left: float
    top: float
    right: float
    bottom: float


class _Room:
    """How much of a line there is room for."""

    def __init__(self, course: Course, field: Field, free: BaseGeometry, clip: BaseGeometry | None) -> None:
        self._course, self._field, self._free = course, field, free
        self._clip = apply_to_region(course.to_line, clip) if clip is not None else None

    def ends(self, ink: _Ink) -> tuple[float, float]:
        """From where to where text as high as this may reach along the line."""
        at, room_mm = self._course.anchor_mm, self._field.room_mm
        if room_mm is not None:
            before = {"start": 0.0, "middle": 0.5, "end": 1.0}[self._course.anchor]
            return at - before * room_mm, at + (1 - before) * room_mm
        inside = at + {"start": 0.01, "middle": 0.0, "end": -0.01}[self._course.anchor]
        low, high = _reach(self._free, inside, ink, self._field.margin_mm) or (inside, inside)
        if self._clip is not None and (reach := _reach(self._clip, inside, ink, 0.0)) is not None:
            low, high = max(low, reach[0]), min(high, reach[1])
        return min(low, inside), max(high, inside)

    def length(self, ink: _Ink) -> float:
        """The same as a length; of text anchored in its middle, twice the shorter side."""
        low, high = self.ends(ink)
        at = self._course.anchor_mm
        reach = {"start": high - at, "end": at - low, "middle": 2 * min(at - low, high - at)}[self._course.anchor]
        return max(0.0, min(reach, 2 * _FAR_MM))

    def share(self, ink: _Ink) -> float:
        """By how much the text would have to be scaled about its anchor to fit; above 1 where there is more room. The
        side where it begins is the design's own affair."""
        low, high = self.ends(ink)
        at = self._course.anchor_mm
        shares = [math.inf]
        if ink.right > at + 1e-9 and self._course.anchor != "end":
            shares.append((high - at) / (ink.right - at))
        if ink.left < at - 1e-9 and self._course.anchor != "start":
            shares.append((at - low) / (at - ink.left))
        return max(0.0, min(shares))


def _cut_by(drawing: Drawing) -> BaseGeometry | None:
    """What text reaches out of where it is cut off in the drawing (a viewport, a clip); None where nothing cuts it."""
    return next((shape.clip for shape in drawing.shapes if shape.clip is not None), None)


def _reach(free: BaseGeometry, inside: float, ink: _Ink, margin_mm: float) -> tuple[float, float] | None:
    """From where to where there is nothing in the way of text this high; None where it stands in the way itself."""
    top, bottom = ink.top + 0.01, max(ink.bottom - 0.01, ink.top + 0.02)
    low, high = -_FAR_MM, _FAR_MM
    for part in shapely.get_parts(shapely.difference(shapely.box(-_FAR_MM, top, _FAR_MM, bottom), free)):
        left, _, right, _ = part.bounds
        if right <= inside:
            low = max(low, right + margin_mm)
        elif left >= inside:
            high = min(high, left - margin_mm)
        else:
            return None
    return low, high


def _whole_words(line: Line, values: Mapping[str, str]) -> list[str]:
    return with_values(line.text, dict(values)).split()


def _points(drawing: Drawing) -> NDArray[np.float64]:
    paths = [shape.path for shape in drawing.shapes if len(shape.path)]
    if not paths:
        return np.zeros((0, 2))
    return flatten(joined(paths), _TOLERANCE_MM).points


def _ink(drawing: Drawing, course: Course | None) -> _Ink | None:
    points = _points(drawing)
    if not len(points):
        return None
    a, b, c, d, _, _ = course.to_line if course is not None else (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    turned = points @ np.array([[a, b], [c, d]])
    (left, top), (right, bottom) = turned.min(0), turned.max(0)
    return _Ink(float(left), float(top), float(right), float(bottom))


def _along(points: NDArray[np.float64], to_line: Affine) -> tuple[float, float]:
    along = points @ np.array([to_line[0], to_line[2]])
    return float(along.min()), float(along.max())


def free_room(outlines: Sequence[BaseGeometry], page: BaseGeometry, at: tuple[float, float]) -> BaseGeometry:
    """Where text that stands at that place may be: within the innermost outline round it, off all others within."""
    place = shapely.Point(at)
    around = [one for one in outlines if one.contains(place)]
    inner = min(around, key=lambda one: float(one.area)) if around else page
    holes = [one for one in outlines if one.area < inner.area and not one.contains(place) and one.intersects(inner)]
    return shapely.difference(inner, shapely.union_all(holes)) if holes else inner
