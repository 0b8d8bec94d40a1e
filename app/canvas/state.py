"""What the faces show and where: the plan, what is pointed at or selected, the view, and what lies under a pixel."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, Protocol

from PySide6.QtCore import QPointF, QRectF

from app.canvas import faces_layout, sheet_picture
from app.canvas.faces_layout import Arrangement, Face, FaceName, View
from app.canvas.finding_marks import FindingMark, finding_marks
from app.canvas.modes import CanvasMode, PictureKind, RegionLook, Shown, picture_kind, usual_shown
from app.canvas.words import plan_words, shape_words
from app.words.wording import in_shown_units
from core.findings import Finding
from core.geometry.affine import apply_to_box

if TYPE_CHECKING:
    from app.canvas.outlines import Box, Floats
    from app.canvas.scene import Scene
    from core.job.plan import Plan

HIT_REACH_PX = 5.0
MOST_LETTERS = 200
MOST_SMALL = 2000
"""Marks keep clear of small fills where there are no more of them."""
LETTER_SHARE = 0.2
"""A fill smaller than this share of a face may be a letter, which marks keep clear of."""
FitTarget = Literal["artwork", "selection", "sheet"]


class Tool(Protocol):
    """Something that takes clicks and keys on the faces in place of selecting and dragging."""

    def clicked(self, face: Face, at: QPointF) -> None:
        """A click on a face, px of the view."""

    def double_clicked(self, face: Face, at: QPointF) -> None:
        """A second click at once; the first came as ``clicked``."""

    def key(self, key: int) -> bool:
        """A key; returns whether it was meant for the tool."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KnownMarks:
    """The marks of a face, and what they were worked out from."""

    face: Face
    findings: tuple[Finding, ...]
    scene: "Scene | None"
    marks: tuple[FindingMark, ...]


@dataclass(slots=True, eq=False)
class FacesState:
    """Changed by the view only; painter, pointer and keys read it. Lengths in mm of the front frame.

    scene: what ``plan`` was last drawn as; it lags behind it. pointed: the place under the pointer and the face's name.
    """

    size_px: tuple[int, int] = (0, 0)
    plan: "Plan | None" = None
    scene: "Scene | None" = None
    mode: CanvasMode = "artwork"
    chosen_shown: dict[CanvasMode, Shown] = field(default_factory=dict)
    selection: frozenset[str] = frozenset()
    highlight: frozenset[str] = frozenset()
    hovered: str | None = None
    pointed: tuple[tuple[float, float], str] | None = None
    band: "Box | None" = None
    findings: tuple[Finding, ...] = ()
    known_marks: dict[FaceName, KnownMarks] = field(default_factory=dict)
    looks: tuple[RegionLook, ...] = ()
    chosen_flaw: int | None = None
    tool: Tool | None = None
    inches: bool = False
    arrangement: Arrangement = "by width"
    empty: tuple[str, str] = ("Drop artwork here", "")
    view: View = field(default_factory=lambda: View(x_mm=0.0, y_mm=0.0, px_per_mm=1.0))
    is_fitted: bool = True
    fit_target: FitTarget = "artwork"
    stacked: bool | None = None

    @property
    def faces(self) -> tuple[Face, Face]:
        """Front and bed as they lie now. Only with a plan."""
        assert self.plan is not None
        job = self.plan.job
        return faces_layout.laid_out(
            self.size_px, self.arrangement, self.view, job.sheet, job.turn, stacked=self.stacked
        )

    @property
    def shown(self) -> Shown:
        """What the front shows: as chosen for this mode, or as usual in it."""
        return self.chosen_shown.get(self.mode, usual_shown(self.mode))

    def kind_on(self, face: FaceName) -> PictureKind:
        """The picture that a face shows."""
        return picture_kind(self.mode, self.shown, face)

    def settle_arrangement(self) -> None:
        """Decide how the faces lie, for the size and the artwork at hand."""
        if self.plan is not None:
            drawing, sheet = self.plan.drawing, self.plan.job.sheet
            shown_mm = (drawing.width_mm, drawing.height_mm) if drawing.shapes else (sheet.width_mm, sheet.height_mm)
            self.stacked = faces_layout.is_stacked(self.size_px, self.arrangement, shown_mm, was=self.stacked)

    def box_of(self, target: FitTarget) -> "Box | None":
        """The front box that fitting goes by; None: the sheet's own, with the room around it."""
        if target == "sheet" or self.plan is None:
            return None
        if self.scene is None or self.scene.plan.job.source != self.plan.job.source:
            return self._page_box if target == "artwork" and self.plan.drawing.shapes else None
        if target == "selection":
            boxes = [box for shape in self.selection if (box := self.shape_box(shape)) is not None]
        else:
            boxes = [box for box in (*self.scene.copy_boxes(), self.scene.burned_bounds_mm) if box is not None]
        if not boxes:
            return None
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        return (min(x0), min(y0), max(x1), max(y1))

    @property
    def _page_box(self) -> "Box":
        """The artwork's page where it lies, front frame: what there is to go by before its shapes are drawn."""
        assert self.plan is not None
        return apply_to_box(
            self.plan.drawing_to_front, (0.0, 0.0, self.plan.drawing.width_mm, self.plan.drawing.height_mm)
        )

    def face_at(self, point: QPointF) -> Face | None:
        """The face whose sheet area holds a pixel."""
        if self.plan is None:
            return None
        return next((face for face in self.faces if QRectF(face.area).contains(point)), None)

    @property
    def pointed_mm(self) -> tuple[float, float] | None:
        """The front point under the pointer."""
        return self.pointed[0] if self.pointed is not None else None

    @property
    def pointed_face(self) -> FaceName | None:
        """The face that the pointer is over."""
        return next((face.name for face in self.faces if face.name == self.pointed[1]), None) if self.pointed else None

    def reach(self) -> "Box":
        """Where there is something to see, front frame: sheet, machine bed, artwork."""
        assert self.plan is not None
        job, bed = self.plan.job, self.faces[1]
        box = sheet_picture.bed_rect(bed, job)
        corners = [bed.to_front(box.topLeft()), bed.to_front(box.bottomRight())]
        corners += [(0.0, 0.0), (job.sheet.width_mm, job.sheet.height_mm)]
        if self.scene is not None and (bounds := self.scene.bounds_mm) is not None:
            corners += [bounds[:2], bounds[2:]]
        xs, ys = zip(*corners, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def shapes_at(self, face: Face, point: QPointF) -> list[str]:
        """Ids of the shapes under a pixel of a face, on any copy, the one most likely meant first."""
        if self.scene is None:
            return []
        lines = frozenset() if self.shown == "as sent" else self.scene.line_shapes
        reach_mm = HIT_REACH_PX / face.view.px_per_mm
        return self.scene.shapes_at(*face.to_front(point), reach_mm=reach_mm, lines=lines)

    def shapes_in(self, box: "Box") -> list[str]:
        """Ids of the shapes wholly in a box (front); of those that touch it when none is."""
        if self.scene is None:
            return []
        shapes, picker = self.scene.plan.drawing.shapes, self.scene.picker
        return [shapes[i].id for i in picker.within(box) or picker.touching(box)]

    def mark_at(self, face: Face, point: QPointF) -> FindingMark | None:
        """The mark of findings under a pixel of a face."""
        return next((mark for mark in self.marks_on(face) if mark.plate.contains(point)), None)

    def marks_on(self, face: Face) -> tuple[FindingMark, ...]:
        """The marks of the findings on a face; worked out once for a view."""
        known = self.known_marks.get(face.name)
        if (
            known is None
            or known.face != face
            or known.findings is not self.findings  # held, not their addresses: others may come to lie there
            or known.scene is not self.scene
        ):
            is_full = self.scene is None or len(self.scene.source.paints) > MOST_SMALL
            small = None if is_full else lambda: self._small_fills(face)
            marks = finding_marks(face, self.findings, self._lettering, small)
            known = KnownMarks(face=face, findings=self.findings, scene=self.scene, marks=marks)
            self.known_marks[face.name] = known
        return known.marks

    def _lettering(self, finding: Finding) -> list["Box"]:
        """Boxes of the filled shapes that a finding speaks of."""
        if self.scene is None:
            return []
        units = self.scene.units_of(frozenset(finding.shape_ids)).tolist()
        shapes = self.scene.plan.drawing.shapes
        filled = [shapes[i].id for i in units[:MOST_LETTERS] if self.scene.source.paints[i].fill is not None]
        return [box for shape in filled if (box := self.shape_box(shape)) is not None]

    def _small_fills(self, face: Face) -> "Floats":
        """Boxes (n, 4) of all filled shapes that are small on this face, as letters are."""
        import numpy as np  # not needed for the first picture

        assert self.scene is not None
        boxes = self.scene.picker.boxes[[paint.fill is not None for paint in self.scene.source.paints]]
        most_mm = LETTER_SHARE * min(face.area.width(), face.area.height()) / face.view.px_per_mm
        return boxes[np.maximum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]) < most_mm]

    def flaw_at(self, face: Face, point: QPointF) -> int | None:
        """Number of the sheet's flaw under a pixel of a face; the uppermost."""
        if self.plan is None or self.shown == "as sent":
            return None
        from app.canvas.flaw_marks import flaw_at

        return flaw_at(face, self.plan.job.sheet, point)

    @property
    def burned_hull_mm(self) -> "Floats | None":
        """Corners of the convex hull of what is burned, front frame, as drawn; None without any."""
        return self.scene.burned_hull_mm if self.scene is not None else None

    @property
    def burned_bounds_mm(self) -> "Box | None":
        """Box of what is burned, front frame, as drawn; None without any."""
        return self.scene.burned_bounds_mm if self.scene is not None else None

    def shape_ids(self) -> tuple[str, ...]:
        """All shapes, in the drawing's order."""
        return tuple(shape.id for shape in self.plan.drawing.shapes) if self.plan is not None else ()

    def shape_middle(self, shape_id: str) -> QPointF:
        """The middle of a shape's box on the front face, px; the face's own middle when nothing is seen of it."""
        front, _ = self.faces
        box = self.shape_box(shape_id)
        return front.middle if box is None else front.to_px((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

    def shape_box(self, shape_id: str) -> "Box | None":
        """The shape's box, front frame; None where nothing is seen of it."""
        if self.scene is None or shape_id not in self.scene.index_of:
            return None
        x0, y0, x1, y1 = self.scene.picker.boxes[self.scene.index_of[shape_id]].tolist()
        return (x0, y0, x1, y1) if x0 == x0 else None

    def shape_towards(self, shape_id: str, dx: float, dy: float) -> str | None:
        """The shape that lies nearest to this one that way (a unit step, front frame), by their middles; None: none."""
        if self.scene is None or shape_id not in self.scene.index_of:
            return None
        return self.scene.shape_towards(shape_id, dx, dy)

    def selected_in_order(self) -> tuple[str, ...]:
        """Ids of the shapes selected, in the drawing's order."""
        return tuple(shape_id for shape_id in self.shape_ids() if shape_id in self.selection)

    def description(self) -> str:
        """What the picture shows, for screen readers."""
        if self.plan is None:
            return " ".join(part for part in self.empty if part)
        text = plan_words(self.plan, self.selection, inches=self.inches)
        if self.hovered is not None and self.scene is not None:
            text += " " + shape_words(self.scene, self.hovered, self.selection)
        return text

    def tip_at(self, point: QPointF) -> str:
        """What to say about a pixel."""
        face = self.face_at(point)
        if face is None:
            return ""
        mark = self.mark_at(face, point)
        if mark is not None:
            told = in_shown_units(self.findings[mark.indices[0]].message, inches=self.inches)
            more = len(mark.indices) - 1
            return f"{told} And {more} more here." if more else told
        flaw = self.flaw_at(face, point)
        if flaw is not None and self.plan is not None:
            from app.canvas.flaw_marks import flaw_words

            return f"Flaw {flaw_words(flaw, self.plan.job.sheet.flaws[flaw])}"
        shapes = self.shapes_at(face, point)
        return shape_words(self.scene, shapes[0], self.selection) if shapes and self.scene is not None else ""
