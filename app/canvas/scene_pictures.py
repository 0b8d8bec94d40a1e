"""The scene of the plan shown and its pictures: built and drawn on another thread, always the newest of each."""

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRectF, QTimer, Signal
from PySide6.QtGui import QImage, QPainter

from app.canvas.faces_layout import Face, FaceName
from app.canvas.modes import PictureKind, RegionLook
from app.canvas.pictures import PictureSlot, Request, frame_around, lay, overview_frame, serves, uncovered
from app.session.background import Background, Question
from app.theme.theme import theme
from core.progress import Progress

if TYPE_CHECKING:
    from app.canvas.placing import Snapped
    from app.canvas.scene import Scene
    from core.job.plan import Plan

OVERVIEW_PX = 900
SHOW_LOOKS: tuple[PictureKind, ...] = ("paints", "look")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the pictures should show: where and how dense, which picture on each face, with which marks."""

    front: Face
    density: float
    kinds: Mapping[FaceName, PictureKind]
    looks: tuple[RegionLook, ...] = ()
    selected: frozenset[str] = frozenset()
    highlighted: frozenset[str] = frozenset()
    hovered: str | None = None


class ScenePictures(QObject):
    """Scene and pictures of a view.

    ``wanted`` is asked what to draw, once the events at hand are dealt with; None: nothing. changed: there is something
    new to be laid on the faces. scene_changed: another scene. drawn: a picture of the artwork was finished.
    """

    changed = Signal()
    scene_changed = Signal()
    drawn = Signal()

    def __init__(self, wanted: Callable[[], Wanted | None], parent: QObject) -> None:
        super().__init__(parent)
        self._wanted = wanted
        self._background = Background("drawing", self)
        self._building, self._readying = Question(self._background), Question(self._background)
        self._serials = itertools.count(1)
        self._drag: tuple[int, Snapped] | None = None
        self.scene: Scene | None = None
        self._scene_serial = 0
        # where both faces show the same, the bed lays the front's pictures
        self.artwork, self.overview = self._artwork_slots()
        self.bed_artwork, self.bed_overview = self._artwork_slots()
        self.marks = PictureSlot(self._background, self)
        self.marks.changed.connect(self.changed)
        self._bed_differs = False
        # the view is painted first, from what there is; only then is something new asked for
        self._wish = QTimer(self)
        self._wish.setSingleShot(True)
        self._wish.setInterval(0)
        self._wish.timeout.connect(self._want_all)

    def _artwork_slots(self) -> tuple[PictureSlot, PictureSlot]:
        artwork, overview = PictureSlot(self._background, self), PictureSlot(self._background, self)
        artwork.changed.connect(self._artwork_drawn)
        overview.changed.connect(self.changed)
        return artwork, overview

    def show_plan(self, plan: "Plan | None") -> None:
        """Build the scene of this plan; what was being built for an older one is given up. None clears everything."""
        if plan is None:
            self._building.stop()
            self._wish.stop()
            self.scene = self._drag = None
            for slot in self._slots:
                slot.clear()
            return
        before = self.scene

        def build(progress: Progress) -> "Scene":
            from app.canvas.scene import Scene as New

            return New(plan, before, progress=progress)

        self._building.ask_once(build, self._take_scene)

    def ask(self) -> None:
        """Something about what is wanted may have changed."""
        self._wish.start()

    @property
    def settled(self) -> bool:
        """Whether everything wanted is there."""
        return not self.under_way

    @property
    def under_way(self) -> tuple[str, ...]:
        """What is wanted and not there yet, each by its name."""
        slots = zip(
            ("artwork", "overview", "artwork on the bed", "overview on the bed", "marks"), self._slots, strict=True
        )
        waiting = {
            "the scene": self._building.busy,
            "a wish for pictures": self._wish.isActive(),
            **{f"picture: {name}": slot.busy for name, slot in slots},
        }
        return tuple(name for name, waits in waiting.items() if waits)

    def whole_artwork(self) -> QImage | None:
        """All of the artwork as the front shows it, once that is drawn."""
        drawn = self.overview.picture
        return drawn.image if drawn is not None else None

    def close(self) -> None:
        """Stop the thread and wait for it."""
        self.show_plan(None)
        self._background.close()

    def drag(self, shift: "Snapped | None") -> None:
        """Lay the artwork so far from where this scene has it, until there is a picture of another scene."""
        self._drag = None if shift is None else (self._scene_serial, shift)

    @property
    def dragged(self) -> "Snapped | None":
        """How the artwork is dragged."""
        return self._drag[1] if self._drag is not None else None

    @property
    def shift_mm(self) -> tuple[float, float]:
        """How far the artwork is dragged from where the picture shown has it."""
        if self._drag is None or self.artwork.picture is None:
            return (0.0, 0.0)
        serial, shift = self._drag
        shown_serial = self.artwork.picture.key[0]  # type: ignore[index]  # our keys are tuples that begin so
        return (shift.dx_mm, shift.dy_mm) if shown_serial == serial else (0.0, 0.0)

    def lay_on(self, painter: QPainter, face: Face) -> None:
        """Lay the pictures on a face; where the sharp one does not reach, a coarse one of everything."""
        shift_mm, covered = self.shift_mm, None
        artwork, overview = self._slots_of(face.name)
        if artwork.picture is not None:
            covered = lay(painter, face, artwork.picture, shift_mm)
        if overview.picture is not None and (covered is None or not covered.contains(QRectF(face.area))):
            painter.save()
            if covered is not None:
                painter.setClipRegion(uncovered(face, covered))
            lay(painter, face, overview.picture, shift_mm)
            painter.restore()
        if self.marks.picture is not None:
            lay(painter, face, self.marks.picture, shift_mm)

    @property
    def _slots(self) -> tuple[PictureSlot, ...]:
        return (self.artwork, self.overview, self.bed_artwork, self.bed_overview, self.marks)

    def _slots_of(self, face: FaceName) -> tuple[PictureSlot, PictureSlot]:
        if face == "bed" and self._bed_differs:
            return self.bed_artwork, self.bed_overview
        return self.artwork, self.overview

    def _take_scene(self, scene: "Scene") -> None:
        self.scene, self._scene_serial = scene, next(self._serials)
        self.scene_changed.emit()
        self.ask()

    def _want_all(self) -> None:
        wanted, scene = self._wanted(), self.scene
        if wanted is None or scene is None or wanted.front.area.isEmpty():
            return
        self._bed_differs = wanted.kinds["bed"] != wanted.kinds["front"]
        self._want_artwork(scene, wanted, "front")
        if self._bed_differs:
            self._want_artwork(scene, wanted, "bed")
        else:
            self.bed_artwork.clear()
            self.bed_overview.clear()
        self._want_marks(scene, wanted)

    def _want_artwork(self, scene: "Scene", wanted: Wanted, face: FaceName) -> None:
        from app.canvas.paintings import painting_of

        front, density, kind = wanted.front, wanted.density, wanted.kinds[face]
        artwork, overview = self._slots_of(face)
        key = (self._scene_serial, kind, theme().name, wanted.looks if kind in SHOW_LOOKS else ())
        paint = painting_of(kind, scene, wanted.looks)
        picture = artwork.picture
        if picture is None or picture.key != key or not serves(picture.frame, front, density):
            self._readying.stop()
            artwork.want(Request(key=key, frame=frame_around(front, density), theme=theme(), paint=paint))
        bounds = scene.bounds_mm
        if bounds is not None and (overview.picture is None or overview.picture.key != key):
            frame = overview_frame(bounds, OVERVIEW_PX, density)
            overview.want(Request(key=key, frame=frame, theme=theme(), paint=paint))

    def _want_marks(self, scene: "Scene", wanted: Wanted) -> None:
        from app.canvas.picture import paint_marks

        marked = (wanted.selected, wanted.highlighted, wanted.hovered)
        if not any(marked):
            self.marks.clear()
            self.changed.emit()
            return
        key = (self._scene_serial, theme().name, marked)
        picture = self.marks.picture
        if picture is None or picture.key != key or not serves(picture.frame, wanted.front, wanted.density):
            frame = frame_around(wanted.front, wanted.density)
            self.marks.want(
                Request(
                    key=key,
                    frame=frame,
                    theme=theme(),
                    paint=lambda work: paint_marks(
                        work,
                        scene,
                        selected=wanted.selected,
                        highlighted=wanted.highlighted,
                        hovered=wanted.hovered,
                    ),
                )
            )

    def _artwork_drawn(self) -> None:
        self.changed.emit()
        wanted, scene = self._wanted(), self.scene
        if self.settled and scene is not None and wanted is not None:
            self._make_ready(scene, wanted.front.view.px_per_mm * wanted.density)
        self.drawn.emit()

    def _make_ready(self, scene: "Scene", px_per_mm: float) -> None:
        """Use the pause for what the next zoom steps will need."""
        self._readying.ask_once(lambda progress: scene.make_ready(px_per_mm, progress), lambda nothing: None)
