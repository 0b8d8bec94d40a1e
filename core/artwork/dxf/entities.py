"""DXF entities to pieces: each kind by its own small function, and a word about each that can't be read."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
import numpy as np
from ezdxf.render.trace import TraceBuilder

from core.artwork.dxf.colours import entity_colour
from core.artwork.dxf.curves import (
    Outline,
    arc_row,
    circle_row,
    ellipse_row,
    is_full_turn,
    lies_flat,
    plane_map,
    polyline_outline,
    ring_outline,
)
from core.artwork.dxf.hatches import boundary
from core.artwork.dxf.inserts import linetype_name, look_of, placed_block, plain_block
from core.artwork.dxf.kinds import ANNOTATIONS, MAX_NAMED_PICTURES, NO_OUTLINE, NOT_ARTWORK
from core.artwork.dxf.loading import why_unreadable
from core.artwork.dxf.mending import FAULTS
from core.artwork.dxf.pieces import Insert, Pen, Run, RunBuilder
from core.artwork.dxf.plain import Plain
from core.artwork.dxf.spline_entities import spline_of
from core.artwork.dxf.splines import BSpline, SplineRows, fault, spline_rows
from core.artwork.dxf.texts import outlined
from core.artwork.remarks import Remarks
from core.geometry.affine import IDENTITY, Affine
from core.geometry.path import ARC
from core.progress import Progress, silent

Entity = Any
"""An ezdxf entity; the library's classes are not typed."""

Item = Run | Insert


BETWEEN_REPORTS = 500


class EntityReader:
    """Reads entities of one layout or block at a time; remarks are shared over the whole drawing."""

    def __init__(self, document: Any, remarks: Remarks) -> None:
        self.document = document
        self.remarks = remarks
        self.tolerance = 0.01
        self._builder = RunBuilder()
        self._items: list[Item] = []
        self._pens: dict[tuple[object, ...], Pen] = {}
        self._base_points: dict[str, tuple[float, float]] = {}
        self._splines: dict[int, SplineRows] = {}
        self._annotation = ""
        self._in_block = False

    def read(
        self, entities: Sequence[Entity], *, tolerance: float, in_block: bool = False, progress: Progress = silent
    ) -> tuple[Item, ...]:
        """Pieces and inserts in drawing order. The tolerance is in drawing units."""
        self.tolerance = tolerance
        self._in_block = in_block
        self._items = []
        self._splines = self._all_splines(entities)
        for number, entity in enumerate(entities):
            if number % BETWEEN_REPORTS == 0:
                progress(number / len(entities), "Reading entities")
            self._read_one(entity)
        self._close_run()
        self._splines = {}
        return tuple(self._items)

    def pen(self, entity: Entity, **more: Any) -> Pen:
        """The pen of an entity; equal pens are one object."""
        dxf = entity.dxf
        kind = self._annotation or entity.dxftype()
        if self._annotation:
            more["loose"] = False
        look = (kind, dxf.get("layer", "0"), dxf.get("true_color"), dxf.get("color", 256), dxf.get("linetype"))
        return self._pen(look, **more)

    def _pen(self, look: tuple[str, str, int | None, int, str | None], **more: Any) -> Pen:
        """The pen of (kind, layer, true colour, colour index, linetype)."""
        key = (*look, *more.items()) if more else look
        pen = self._pens.get(key)
        if pen is None:
            kind, layer, rgb, index, linetype = look
            colour = entity_colour(rgb, index)
            pen = self._pens[key] = Pen(kind=kind, layer=layer, colour=colour, linetype=linetype_name(linetype), **more)
        return pen

    def add_outlines(self, entity: Entity, outlines: Iterable[Outline], matrix: Affine = IDENTITY, **more: Any) -> None:
        """One piece of these subpaths."""
        self._builder.begin(self.pen(entity, **more), entity.dxf.handle or "")
        for kinds, rows, closed in outlines:
            self._builder.subpath(kinds, rows, closed=closed, matrix=matrix)

    def plane(self, entity: Entity, elevation: float) -> Affine:
        """The entity's own plane seen from above."""
        extrusion = entity.dxf.get("extrusion")
        if extrusion is None:
            return IDENTITY
        matrix = plane_map(extrusion, elevation)
        if not lies_flat(matrix):
            self.remarks.add(
                "dxf-tilted",
                "{count} [entity in a tilted plane is|entities in tilted planes are] drawn as seen from above.",
                place=self._place(entity),
            )
        return matrix

    def _place(self, entity: Entity) -> tuple[float, float] | None:
        """Where to look for the entity; what lies in a block has no one place."""
        return None if self._in_block else place_of(entity)

    def _read_plain(self, plain: Plain) -> None:
        builder, geometry = self._builder, plain.geometry
        if plain.kind == "INSERT":
            base_point = self._base_point(geometry.block, (geometry.x, geometry.y))
            if base_point is not None:
                self._insert(plain_block(plain, base_point))
            return
        builder.begin(self._pen(plain[:5]), plain.handle or f"n{plain.order}")
        if plain.kind == "LINE":
            builder.line(*geometry)
        elif plain.kind == "CIRCLE":
            builder.subpath([ARC], [circle_row(*geometry)], closed=True)
        elif plain.kind == "ARC":
            row = arc_row(*geometry)
            builder.subpath([ARC], [row], closed=is_full_turn(row))
        elif plain.kind == "LWPOLYLINE":
            points, closed = geometry
            kinds, rows, _ = polyline_outline(points, closed=closed)
            builder.subpath(kinds, rows, closed=closed)
        else:
            self._add_spline(geometry, self._splines.get(id(plain)))

    def _read_one(self, entity: Entity) -> None:
        plain = isinstance(entity, Plain)
        kind = entity.kind if plain else entity.dxftype()
        read = _READERS.get(kind)
        mark = self._builder.mark()
        try:
            if plain:
                self._read_plain(entity)
            elif entity.dxf.hasattr("invisible") and entity.dxf.invisible:
                self.remarks.add(
                    "dxf-invisible", "{count} [entity|entities] marked invisible [was|were] left out.", severity="note"
                )
            elif read is not None:
                read(self, entity)
            elif kind not in NOT_ARTWORK:
                self._read_unknown(kind, entity)
        except FAULTS as error:
            self._builder.undo_piece(mark)
            self.remarks.add(
                "dxf-bad-entity", "{count} damaged {kind} [entity was|entities were] left out: {why}.",
                place=_place_of_plain(entity) if plain else self._place(entity),
                kind=kind, why=why_unreadable(error, kind),
            )  # fmt: skip

    def _read_unknown(self, kind: str, entity: Entity) -> None:
        before = self._builder.mark()
        if kind not in NO_OUTLINE and hasattr(entity, "virtual_entities"):
            self._read_virtual(entity)
        if self._builder.mark() != before:
            message = "{count} {kind} [entity is|entities are] drawn by [its|their] stand-in lines: look at [it|them]."
        elif kind in NO_OUTLINE:
            message = "{count} {kind} [entity|entities] ({what}) can't be read and [was|were] left out."
        else:
            message = "{count} {kind} [entity|entities], not known here, [was|were] left out."
        what = NO_OUTLINE.get(kind, "")
        if kind == "IMAGE" and self.remarks.allow("pictures", 1, MAX_NAMED_PICTURES):
            size = (
                entity.dxf.image_size.x * entity.dxf.u_pixel.magnitude,
                entity.dxf.image_size.y * entity.dxf.v_pixel.magnitude,
            )
            what += f" of {size[0]:g} × {size[1]:g} drawing units"
        self.remarks.add("dxf-not-read", message, place=self._place(entity), kind=kind, what=what)

    def _read_virtual(self, entity: Entity) -> None:
        """What the library draws for a composed entity, under the entity's own kind."""
        outer, self._annotation = self._annotation, self._annotation or entity.dxftype()
        try:
            for part in list(entity.virtual_entities()):
                self._read_one(part)
        finally:
            self._annotation = outer

    def _insert(self, insert: Insert) -> None:
        self._close_run()
        self._items.append(insert)

    def _close_run(self) -> None:
        run = self._builder.take()
        if run is not None:
            self._items.append(run)

    # one method a kind

    def _line(self, entity: Entity) -> None:
        start, end = entity.dxf.start, entity.dxf.end
        self._builder.begin(self.pen(entity), entity.dxf.handle or "")
        self._builder.line(start.x, start.y, end.x, end.y)

    def _arc(self, entity: Entity) -> None:
        dxf = entity.dxf
        centre = dxf.center
        row = arc_row(centre.x, centre.y, abs(dxf.radius), dxf.start_angle, dxf.end_angle)
        self.add_outlines(entity, [([ARC], [row], is_full_turn(row))], self.plane(entity, centre.z))

    def _circle(self, entity: Entity) -> None:
        centre, radius = entity.dxf.center, abs(entity.dxf.radius)
        if radius == 0.0:
            raise ValueError("its radius is zero")
        row = circle_row(centre.x, centre.y, radius)
        self.add_outlines(entity, [([ARC], [row], True)], self.plane(entity, centre.z))

    def _ellipse(self, entity: Entity) -> None:
        dxf = entity.dxf
        major, minor = dxf.major_axis, entity.minor_axis
        row = ellipse_row(
            dxf.center.x, dxf.center.y, (major.x, major.y), (minor.x, minor.y), dxf.start_param, dxf.end_param
        )
        if major.magnitude == 0.0:
            raise ValueError("its axis is zero")
        self.add_outlines(entity, [([ARC], [row], is_full_turn(row))])

    def _lwpolyline(self, entity: Entity) -> None:
        vertices = [tuple(vertex) for vertex in entity.lwpoints]
        widths = [(start, end) for _, _, start, end, _ in vertices]
        if not any(w for pair in widths for w in pair) and entity.dxf.get("const_width", 0.0):
            widths = [(entity.dxf.const_width,) * 2] * len(vertices)
        points = [(x, y, bulge) for x, y, _, _, bulge in vertices]
        self._polyline_2d(entity, points, widths, entity.closed, entity.dxf.get("elevation", 0.0))

    def _polyline(self, entity: Entity) -> None:
        if entity.is_polygon_mesh or entity.is_poly_face_mesh:
            self.remarks.add(
                "dxf-not-read",
                "{count} [mesh|meshes] (POLYLINE) can't be read and [was|were] left out.",
                place=self._place(entity),
            )
            return
        # spline frame points (flag 16) only steer the curve that the other vertices are (DXF Reference, VERTEX)
        vertices = [vertex.dxf for vertex in entity.vertices if not vertex.dxf.get("flags", 0) & 16]
        if entity.is_3d_polyline:
            points = [(v.location.x, v.location.y, 0.0) for v in vertices]
            self.add_outlines(entity, [polyline_outline(points, closed=entity.is_closed)])
            return
        default = (entity.dxf.get("default_start_width", 0.0), entity.dxf.get("default_end_width", 0.0))
        widths = [(v.get("start_width", default[0]), v.get("end_width", default[1])) for v in vertices]
        elevation = vertices[0].location.z if vertices else 0.0
        if entity.dxf.hasattr("elevation"):
            elevation = entity.dxf.elevation.z
        points = [(v.location.x, v.location.y, v.get("bulge", 0.0)) for v in vertices]
        self._polyline_2d(entity, points, widths, entity.is_closed, elevation)

    def _polyline_2d(
        self,
        entity: Entity,
        points: list[tuple[float, float, float]],
        widths: list[tuple[float, float]],
        closed: bool,
        elevation: float,
    ) -> None:
        matrix = self.plane(entity, elevation)
        used = widths if closed else widths[:-1]
        flat = {width for pair in used for width in pair}
        if not flat or flat == {0.0}:
            self.add_outlines(entity, [polyline_outline(points, closed=closed)], matrix)
        elif len(flat) == 1:
            outline = polyline_outline(points, closed=closed)
            self.add_outlines(entity, [outline], matrix, width=flat.pop(), loose=False)
        else:
            trace = TraceBuilder.from_polyline(entity, segments=64)
            rings = [ring_outline([(v.x, v.y) for v in polygon]) for polygon in trace.polygons()]
            self.add_outlines(entity, rings, matrix, filled=True, fill_rule="nonzero", loose=False)

    def _spline(self, entity: Entity) -> None:
        self._builder.begin(self.pen(entity), entity.dxf.handle or "")
        self._add_spline(spline_of(entity), self._splines.get(id(entity)))

    def _add_spline(self, spline: BSpline, rows: SplineRows | None) -> None:
        if rows is None:
            wrong = fault(spline)
            if wrong:
                raise ValueError(wrong)
            (rows,) = spline_rows([spline], self.tolerance)
        self._builder.subpath([rows.kind] * len(rows.rows), rows.rows.tolist(), closed=False)

    def _all_splines(self, entities: Sequence[Entity | Plain]) -> dict[int, SplineRows]:
        """Rows of all sound splines at once, by the entity's identity."""
        found: list[tuple[int, BSpline]] = []
        for entity in entities:
            if isinstance(entity, Plain):
                spline = entity.geometry if entity.kind == "SPLINE" else None
            elif entity.dxftype() == "SPLINE":
                try:
                    spline = spline_of(entity)
                except FAULTS:
                    continue  # said when its turn comes
            else:
                continue
            if spline is not None and not fault(spline):
                found.append((id(entity), spline))
        rows = spline_rows([spline for _, spline in found], self.tolerance)
        return dict(zip((key for key, _ in found), rows, strict=True))

    def _solid(self, entity: Entity) -> None:
        corners = [entity.dxf.get(f"vtx{i}") for i in (0, 1, 3, 2)]  # the last two are stored crosswise
        known = [v for v in corners if v is not None]
        if len(known) < 3:
            raise ValueError("it has too few corners")
        matrix = self.plane(entity, known[0].z)
        self.add_outlines(entity, [ring_outline([(v.x, v.y) for v in known])], matrix, filled=True, loose=False)

    def _face(self, entity: Entity) -> None:
        corners = [entity.dxf.get(f"vtx{i}") for i in range(4)]
        points = [(v.x, v.y) for v in corners if v is not None]
        if len(points) == 4 and points[2] == points[3]:
            points.pop()
        if len(points) < 2:
            raise ValueError("it has too few corners")
        hidden = entity.dxf.get("invisible_edges", 0)
        if not hidden:
            self.add_outlines(entity, [ring_outline(points)])
            return
        self._builder.begin(self.pen(entity), entity.dxf.handle or "")
        for index, (x0, y0) in enumerate(points):
            if not hidden & (1 << index):
                self._builder.line(x0, y0, *points[(index + 1) % len(points)])

    def _hatch(self, entity: Entity) -> None:
        matrix = self.plane(entity, entity.dxf.elevation.z if entity.dxf.hasattr("elevation") else 0.0)
        path = boundary(entity, self.tolerance).transformed(matrix)
        if not len(path):
            raise ValueError("its boundary is empty")
        if entity.has_pattern_fill or entity.has_gradient_data:
            what = "a pattern of lines" if entity.has_pattern_fill else "a gradient"
            self.remarks.add(
                "dxf-hatch-as-solid", "{count} [hatch|hatches] filled with {what} [is|are] taken as filled all over.",
                place=self._place(entity) or tuple(path.start_points[0].tolist()), what=what,
            )  # fmt: skip
        self._builder.begin(self.pen(entity, filled=True, loose=False), entity.dxf.handle or "")
        self._builder.path(path)

    def _text(self, entity: Entity) -> None:
        matrix = IDENTITY
        if entity.dxftype() != "MTEXT":
            matrix = self.plane(entity, entity.dxf.get("insert", (0.0, 0.0, 0.0))[2])
        pen = self.pen(entity, filled=True, fill_rule="nonzero", loose=False)
        for part in outlined(entity, self.document, self.remarks):
            if len(part.path):
                own = pen if part.colour is None else replace(pen, colour=part.colour)
                self._builder.begin(own, entity.dxf.handle or "")
                self._builder.path(part.path.transformed(matrix))

    def _point(self, entity: Entity) -> None:
        self.remarks.add(
            "dxf-points",
            "{count} [point|points] without extent [was|were] left out.",
            severity="note",
            place=self._place(entity),
        )

    def _composed(self, entity: Entity) -> None:
        self._read_virtual(entity)

    def _annotated(self, entity: Entity) -> None:
        kind = entity.dxftype()
        self.remarks.add(
            "dxf-annotation",
            "{count} {kind} [entity is|entities are] drawn as lines and text: leave [it|them] out if not meant.",
            kind=kind,
            place=self._place(entity),
        )
        block = entity.dxf.geometry if entity.dxf.hasattr("geometry") else None
        if block and self.document.blocks.get(block) is not None:
            dxf = entity.dxf
            self._insert(Insert(block=block, handle=dxf.handle or "", annotation=kind, **look_of(entity)))
        else:
            self._read_virtual(entity)

    def _insert_entity(self, entity: Entity) -> None:
        for attrib in entity.attribs:
            self._read_one(attrib)
        if self._base_point(entity.dxf.get("name", ""), self._place(entity)) is not None:
            self._insert(placed_block(entity, self.plane(entity, 0.0), self.remarks))

    def _base_point(self, name: str, place: tuple[float, float] | None) -> tuple[float, float] | None:
        """The point of a block that its inserts place; None, and a remark, for one that is another file."""
        known = self._base_points.get(name)
        if known is not None:
            return known
        block = self.document.blocks.get(name)
        if block is None:
            raise ValueError(f"there is no block “{name}”")
        if block.block is not None and block.block.is_xref:
            self.remarks.add(
                "dxf-external",
                "{count} [reference to another file was|references to other files were] not followed.",
                place=place,
            )
            return None
        x, y, _ = block.block.dxf.base_point if block.block is not None else (0.0, 0.0, 0.0)
        self._base_points[name] = (x, y)
        return (x, y)


_READERS: dict[str, Callable[[EntityReader, Entity], None]] = {
    "LINE": EntityReader._line,
    "ARC": EntityReader._arc,
    "CIRCLE": EntityReader._circle,
    "ELLIPSE": EntityReader._ellipse,
    "LWPOLYLINE": EntityReader._lwpolyline,
    "POLYLINE": EntityReader._polyline,
    "SPLINE": EntityReader._spline,
    "HELIX": EntityReader._spline,
    "SOLID": EntityReader._solid,
    "TRACE": EntityReader._solid,
    "3DFACE": EntityReader._face,
    "HATCH": EntityReader._hatch,
    "MPOLYGON": EntityReader._hatch,
    "TEXT": EntityReader._text,
    "MTEXT": EntityReader._text,
    "ATTRIB": EntityReader._text,
    "POINT": EntityReader._point,
    "MLINE": EntityReader._composed,
    "INSERT": EntityReader._insert_entity,
    **dict.fromkeys(ANNOTATIONS, EntityReader._annotated),
}


def _place_of_plain(plain: Plain) -> tuple[float, float] | None:
    if plain.kind != "INSERT" or not np.isfinite(plain.geometry[1:3]).all():
        return None
    return (plain.geometry.x, plain.geometry.y)


def place_of(entity: Entity) -> tuple[float, float] | None:
    """Some point of the entity, drawing units, or None."""
    for name in ("insert", "start", "center", "location", "vtx0", "text_midpoint", "defpoint"):
        try:
            x, y, *_ = entity.dxf.get(name)
            if np.isfinite([x, y]).all():
                return (x, y)
        except FAULTS:  # none, or no point: some kinds use the name for a number
            continue
    return None
