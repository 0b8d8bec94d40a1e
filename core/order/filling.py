"""A design filled in, part by part: its shapes with the row's text in place of the fields, each on its layer.

The design is read once; of a part only the texts with fields are. What they come to stands where the design's own
text stood in the painting order, on its layers, so that colour and layer follow the text.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.checkup.repairs import repair
from core.artwork.drawing import ArtworkSource, Drawing, Finding, Shape
from core.artwork.line_ids import whole_id
from core.artwork.painting import filled_region
from core.artwork.reading import artwork_kind, read_artwork
from core.artwork.separating import separated
from core.errors import JobError, UnreadableError
from core.findings import Severity
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import Path, joined
from core.job.plan import Plan
from core.order.fields import Field, Picked, names_in
from core.order.line_fits import Course, LineFit, course_of, fitted_line, free_room
from core.order.svg_template import SvgTemplate
from core.order.templates import PLAIN, Line, Setting, Template
from core.purposes import LEAVE_OUT, UNDECIDED

_OF_FONTS = (
    "font-missing", "font-style-missing", "glyph-missing", "glyph-borrowed", "no-font",
    "dxf-font-missing", "dxf-no-font", "dxf-no-glyph", "dxf-glyph-borrowed", "dxf-text-too-long",
)  # fmt: skip
_OF_TEXT = re.compile(r"<(?:text|tspan)(?: id=\"[^\"]*\"|> in line \d+|)>?")
_SERIOUS = ("no-font", "glyph-missing", "glyph-borrowed", "dxf-no-glyph", "dxf-no-font", "dxf-glyph-borrowed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What is worth telling of a filled part, before it is known of which row it is."""

    code: str
    message: str
    severity: Severity = "warning"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilledPart:
    """One part: its shapes in painting order in the design's own frame, their layers, how its lines were fitted.

    origins: of each shape, the id of the design's shape that it is or stands for.
    """

    values: tuple[tuple[str, str], ...]
    shapes: tuple[Shape, ...]
    layer_ids: tuple[str, ...]
    origins: tuple[str, ...]
    fits: tuple[LineFit, ...]
    told: tuple[Told, ...]


def template_of(source: ArtworkSource, picked: Sequence[Picked] = ()) -> Template:
    """The artwork as a template. Raises UnreadableError where no list can fill it."""
    kind = artwork_kind(source)
    if kind == "svg":
        return SvgTemplate(source, picked)
    if kind == "dxf":
        from core.order.dxf_template import DxfTemplate

        return DxfTemplate(source, picked)
    raise UnreadableError(
        f"{source.name} is a PDF, whose text can't be filled in.", hint="Save the design as SVG or DXF, text as text."
    )


def field_names(template: Template) -> tuple[str, ...]:
    """All fields of a template, in the order of the file."""
    return tuple(dict.fromkeys(name for line in template.lines for name in line.fields))


class Filler:
    """Fills one design. Raises UnreadableError where the artwork can't be filled, JobError where it holds no field."""

    def __init__(self, plan: Plan, template: Template, fields: Sequence[Field]) -> None:
        assert plan.job.source is not None
        self._plan, self._template = plan, template
        self._fields = {one.name: one for one in fields}
        if not template.lines:
            raise JobError(
                f"{plan.job.source.name} holds no field.", hint="Write one into its text, like {name}, or pick a text."
            )
        self._base = plan.drawing.shapes
        self._holder_of = holder_of = self._holders_of_shapes()
        self._layers_of = {
            holder: tuple((shape, plan.layer_of[shape.id]) for shape in self._base if holder_of.get(shape.id) == holder)
            for holder in dict.fromkeys(holder_of.values())
        }
        self._courses: dict[str, Course | None] = {}
        self._free: dict[str, BaseGeometry] = {}
        self._known: dict[tuple[tuple[str, str], ...], FilledPart] = {}
        self._outlines_cached: tuple[BaseGeometry, ...] | None = None

    @property
    def unfilled(self) -> tuple[str, ...]:
        """Texts of the design with braces that are out of reach: placed a second time, or made of shapes."""
        return self._template.out_of_reach + tuple(
            shape.label
            for shape in self._base
            if shape.is_text
            and names_in(shape.label)
            and shape.id not in self._holder_of
            and self._plan.layer_of[shape.id] != LEAVE_OUT
        )

    def filled(self, values: Mapping[str, str]) -> FilledPart:
        """The part with these values of its fields."""
        key = tuple((name, values.get(name, "")) for name in field_names(self._template))
        if key not in self._known:
            if len(self._known) > _REMEMBERED:
                self._known.clear()
            self._known[key] = self._filled(dict(key))
        return self._known[key]

    def settings(self, values: Mapping[str, str]) -> tuple[LineFit, ...]:
        """How each line is set with these values."""
        return self._fitted(values)[0]

    def _fitted(self, values: Mapping[str, str]) -> tuple[tuple[LineFit, ...], Drawing]:
        """How each line is set, and what the texts with fields then draw."""
        plain = self._template.read_filled(values, {}, self._plan.job.reading)
        fits = self._settings(values, plain)
        settings: dict[str, Setting] = {fit.line.key: fit.setting for fit in fits}
        if any(setting != PLAIN for setting in settings.values()):
            plain = self._template.read_filled(values, settings, self._plan.job.reading)
        if any(_reaches_into_another(fit, _boxes(plain.shapes)) for fit in fits):
            return self._kept_apart(values, fits, plain)
        return fits, plain

    def _settings(self, values: Mapping[str, str], plain: Drawing) -> tuple[LineFit, ...]:
        """The same, with the texts read already as they come: a line that is a whole text is measured there."""
        holders = Counter(line.holder for line in self._template.lines)
        return tuple(
            self._fit(
                line,
                values,
                _of_holder(plain, line.holder) if holders[line.holder] == 1 and line.placed_once else None,
            )
            for line in self._template.lines
        )

    def file(self, values: Mapping[str, str]) -> bytes:
        """The whole design filled in, as a file of its own kind."""
        settings = {fit.line.key: fit.setting for fit in self.settings(values)}
        return self._template.filled(values, settings)

    def _filled(self, values: dict[str, str]) -> FilledPart:
        fits, plain = self._fitted(values)
        drawing = self._repaired(plain)
        drawing = separated(drawing, line_width_mm=self._plan.job.sorting.line_width_mm)
        by_holder: dict[str, list[Shape]] = {}
        for shape in drawing.shapes:
            by_holder.setdefault(shape.source_id, []).append(shape)
        shapes: list[Shape] = []
        layers: list[str] = []
        origins: list[str] = []
        done: set[str] = set()
        for shape in self._base:
            holder = self._holder_of.get(shape.id)
            if holder is None:
                shapes.append(shape)
                layers.append(self._plan.layer_of[shape.id])
                origins.append(shape.id)
            elif holder not in done:
                done.add(holder)
                own = by_holder.get(holder, [])
                shapes += own
                like = _alike(own, self._layers_of[holder])
                layers += [layer for _, layer in like]
                origins += [model.id for model, _ in like]
        told = [*_font_told(drawing.findings), *(one for fit in fits for one in _fit_told(fit))]
        told += _overlaps_told(fits, drawing.shapes)
        return FilledPart(
            values=tuple(values.items()),
            shapes=tuple(shapes),
            layer_ids=tuple(layers),
            origins=tuple(origins),
            fits=fits,
            told=tuple(told),
        )

    def _kept_apart(
        self, values: Mapping[str, str], fits: tuple[LineFit, ...], plain: Drawing
    ) -> tuple[tuple[LineFit, ...], Drawing]:
        """Two lines that reach into another text are made smaller, no more than is needed and the field lets them; as
        they were where that does not help."""
        for at, fit in enumerate(fits):
            if not _reaches_into_another(fit, _boxes(plain.shapes)):
                continue
            too_large = fit.setting.size_share
            clear = (self._field_of(fit.line).limit_pct) / 100.0
            best: tuple[tuple[LineFit, ...], Drawing] | None = None
            share = clear
            for _ in range(_HALVINGS):
                smaller = replace(fit, setting=replace(fit.setting, size_share=share))
                tried = (*fits[:at], smaller, *fits[at + 1 :])
                settings = {one.line.key: one.setting for one in tried}
                drawn = self._template.read_filled(values, settings, self._plan.job.reading)
                if not _reaches_into_another(smaller, _boxes(drawn.shapes)):
                    best, clear = (tried, drawn), share
                elif best is None:
                    break
                else:
                    too_large = share
                share = (clear + too_large) / 2
            fits, plain = best or (fits, plain)
        return fits, plain

    def _field_of(self, line: Line) -> Field:
        return self._fields.get(line.fields[0]) or Field(name=line.fields[0])

    def _fit(self, line: Line, values: Mapping[str, str], plain: Drawing | None) -> LineFit:
        one = self._field_of(line)
        if line.key not in self._courses:
            self._courses[line.key] = course_of(self._template, line, self._plan.job.reading)
        course = self._courses[line.key]
        if line.key not in self._free:
            page = shapely.box(0.0, 0.0, self._plan.drawing.width_mm, self._plan.drawing.height_mm)
            at = course.middle if course is not None else (0.0, 0.0)
            self._free[line.key] = free_room(self._outlines(), page, at)
        options = self._plan.job.reading
        return fitted_line(self._template, line, values, one, course, self._free[line.key], options, plain=plain)

    def _outlines(self) -> tuple[BaseGeometry, ...]:
        """What closed cut and score lines of the design go round, one by one."""
        if self._outlines_cached is None:
            purposes = {layer.id: layer.purpose for layer in self._plan.job.layers}
            paths = [
                path
                for shape in self._base
                if purposes.get(self._plan.layer_of[shape.id]) in ("cut", "score") and shape.id not in self._holder_of
                for path in shape.path.subpaths()
                if bool(path.closed.all())
            ]
            regions = [filled_region(path, "evenodd", tolerance_mm=0.01) for path in paths]
            self._outlines_cached = tuple(region for region in regions if not region.is_empty)
        return self._outlines_cached

    def _holders_of_shapes(self) -> dict[str, str]:
        """Shape id of the plan's drawing to the id of the text with fields that it is of."""
        source, options = self._plan.job.source, self._plan.job.reading
        assert source is not None
        holders = {line.holder for line in self._template.lines}
        marked = read_artwork(ArtworkSource(name=source.name, data=self._template.marked()), options)
        of_whole = {shape.id: shape.source_id for shape in marked.shapes if shape.source_id in holders}
        return {shape.id: of_whole[whole_id(shape.id)] for shape in self._base if whole_id(shape.id) in of_whole}

    def _repaired(self, drawing: Drawing) -> Drawing:
        """The same change of scale that the design's drawing had."""
        for done in self._plan.job.repairs:
            if done.startswith("scale-"):
                drawing = repair(drawing, done)
        return drawing


_REMEMBERED = 2_000
_HALVINGS = 6
"""So often the size at which two lines keep clear of other texts is looked for between too large and clear."""


def _of_holder(drawing: Drawing, holder: str) -> Drawing:
    """What one text draws."""
    return replace(drawing, shapes=tuple(shape for shape in drawing.shapes if shape.source_id == holder))


def _alike(shapes: Sequence[Shape], models: Sequence[tuple[Shape, str]]) -> list[tuple[Shape, str]]:
    """For each shape of a filled text the design's own with its layer: one by one, or by how they look."""
    if len(shapes) == len(models):
        return list(models)
    by_look = {_look(model): (model, layer) for model, layer in reversed(models)}
    return [by_look.get(_look(shape), models[0]) for shape in shapes]


def _look(shape: Shape) -> tuple[str | None, str | None]:
    return shape.fill, shape.stroke.colour if shape.stroke else None


def _font_told(findings: Sequence[Finding]) -> list[Told]:
    return [
        Told(
            code=finding.code,
            message=_OF_TEXT.sub("the text", finding.message),
            severity="warning" if finding.code in _SERIOUS and finding.severity == "note" else finding.severity,
        )
        for finding in findings
        if finding.code in _OF_FONTS
    ]


def _fit_told(fit: LineFit) -> list[Told]:
    names = ", ".join(fit.line.fields)
    told = []
    if fit.why_not:
        told.append(Told(code="text-not-fitted", message=f"{names}: it can't be fitted so: {fit.why_not}."))
    if fit.too_long:
        room = f"room for {fit.room_mm:.1f} mm" if fit.room_mm else "no room for letters as high as these"
        how = f" though it was {fit.words}" if fit.words else ""
        message = f"{names}: the text takes {fit.needed_mm:.1f} mm, but there is {room}{how}."
        told.append(Told(code="text-too-long", message=message))
    elif fit.words:
        told.append(Told(code="text-fitted", message=f"{names}: {fit.words}.", severity="note"))
    return told


def _overlaps_told(fits: Sequence[LineFit], shapes: Sequence[Shape]) -> list[Told]:
    boxes = _boxes(shapes)
    return [
        Told(code="text-overlaps", message=f"{', '.join(fit.line.fields)}: in two lines it reaches into another text.")
        for fit in fits
        if _reaches_into_another(fit, boxes)
    ]


def _boxes(shapes: Sequence[Shape]) -> dict[str, BaseGeometry]:
    """The box of each text's ink, by its holder."""
    paths: dict[str, list[Path]] = {}
    for shape in shapes:
        if len(shape.path):
            paths.setdefault(shape.source_id, []).append(shape.path)
    return {holder: shapely.box(*path_bounds_mm(joined(own))) for holder, own in paths.items()}


def _reaches_into_another(fit: LineFit, boxes: Mapping[str, BaseGeometry]) -> bool:
    """Text in two lines takes more height: whether the box of its ink reaches into that of another text."""
    own = boxes.get(fit.line.holder) if fit.setting.lines else None
    return own is not None and any(own.intersects(box) for holder, box in boxes.items() if holder != fit.line.holder)


def part_bounds_mm(part: FilledPart) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of all that is burned of a part, in the design's frame; nan where nothing is."""
    return shown_bounds_mm(
        [shape for shape, layer in zip(part.shapes, part.layer_ids, strict=True) if layer not in (LEAVE_OUT, UNDECIDED)]
    )


def shown_bounds_mm(shapes: Sequence[Shape]) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of what shows of these shapes, what cuts them off counted; nan where nothing does."""
    free = [shape.path for shape in shapes if len(shape.path) and shape.clip is None]
    boxes = [path_bounds_mm(joined(free))] if free else []
    for shape in shapes:
        if len(shape.path) and shape.clip is not None and not shape.clip.is_empty:
            (x0, y0, x1, y1), (left, top, right, bottom) = path_bounds_mm(shape.path), shape.clip.bounds
            box = (max(x0, left), max(y0, top), min(x1, right), min(y1, bottom))
            boxes += [box] if box[0] <= box[2] and box[1] <= box[3] else []
    if not boxes:
        return (np.nan,) * 4
    (x0, y0), (x1, y1) = np.min(boxes, axis=0)[:2].tolist(), np.max(boxes, axis=0)[2:].tolist()
    return x0, y0, x1, y1
