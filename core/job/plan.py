"""The Plan: what a Job comes to. Made by ``prepare``, shown by the window, reported and exported."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from core.artwork.account import Account
from core.artwork.drawing import Drawing, Finding
from core.artwork.sorting.deciding import Sorted
from core.artwork.sorting.questions import Question
from core.burning.beam import FillVerdict
from core.burning.chance import Chance
from core.burning.coverage import Coverage
from core.burning.dose import Floats
from core.burning.run_time import NO_TIME, TimeRange
from core.burning.scan_rows import ScanRows
from core.burning.screens.layer_screen import LayerScreen
from core.burning.screens.screening import Screened
from core.geometry.affine import IDENTITY, Affine, compose
from core.geometry.path import Path
from core.geometry.region import BaseGeometry
from core.job.job import Job, Layer
from core.sheet.laid_datum import LaidDatum
from core.sheet.placement import copy_matrices


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One line to tick: before files go out, or (at_machine) by hand on the run sheet, where it can be seen."""

    code: str
    message: str
    at_machine: bool = False

    @property
    def subject(self) -> str:
        """What it is about, in a word or two."""
        return self.code.replace("-", " ")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerPlan:
    """One layer on the sheet. Region and paths are in the sheet's front frame; rows in the bed frame.

    ``region`` is empty but for fills; ``paths`` are in burn order and direction, empty for fills. ``verdict``,
    ``chance`` and ``coverage`` are None but for fills, ``coverage`` also while it is still being worked out.
    screen: the fill's pictures that are screened; of them ``area_mm2`` counts what their tones want bared, and
    ``burned`` is what is no picture.
    ``enclosed``: what cut lines go round where they were moved for the kerf or shared with a copy, so that they do not
    tell any more. ``burned``: what a fill hands over where its outlines are compensated; ``kept_edges``: stretches of
    it that stay as drawn, as they would vanish.
    """

    layer: Layer
    shape_ids: tuple[str, ...]
    region: BaseGeometry
    paths: tuple[Path, ...]
    area_mm2: float
    length_mm: float
    verdict: FillVerdict | None = None
    rows: ScanRows | None = None
    coverage: Coverage | None = None
    time_range: TimeRange = NO_TIME
    enclosed: BaseGeometry | None = None
    burned: BaseGeometry | None = None
    kept_edges: tuple[BaseGeometry, ...] = ()
    chance: Chance | None = None
    screen: LayerScreen | None = None
    drawing_to_front: Affine = IDENTITY

    @property
    def outlines(self) -> BaseGeometry:
        """What a fill hands to the machine besides the bands of its screen: compensated where it is to be, else as
        drawn."""
        return self.region if self.burned is None else self.burned

    @property
    def bands_mm(self) -> Floats:
        """Corners (n, 4, 2), front frame, of what a screen hands to the machine; none where nothing is screened."""
        return np.zeros((0, 4, 2)) if self.screen is None else self.screen.bands_mm(self.drawing_to_front)

    @property
    def time_s(self) -> float:
        """The best figure of the run time."""
        return self.time_range.best_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """What the job comes to.

    drawing_to_front: drawing frame to the sheet's front frame, of the first copy. sorted: a purpose and a reason for
    every shape of the drawing, in its order. layer_of: shape id to layer id, ``LEAVE_OUT`` or ``UNDECIDED``. findings:
    in the sheet's front frame. complete: False while coverage and run time are still missing. datum: None where there
    is no room for it; datum_layers: what of it is burned, before all layers. stage: which part of the work this is,
    where it is done in several burns; empty for all of it. screens: how each picture was screened, by its shape's id.
    """

    job: Job
    drawing: Drawing
    drawing_to_front: Affine
    sorted: tuple[Sorted, ...]
    layer_of: Mapping[str, str]
    layers: tuple[LayerPlan, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    complete: bool
    account: Account = field(default_factory=Account)
    questions: tuple[Question, ...] = ()
    datum: LaidDatum | None = None
    datum_layers: tuple[LayerPlan, ...] = ()
    stage: str = ""
    screens: Mapping[str, Screened] = field(default_factory=dict)

    @property
    def time_range(self) -> TimeRange:
        """The run time of all layers; a range where something of the machine is not known."""
        return sum((layer.time_range for layer in (*self.datum_layers, *self.layers)), NO_TIME)

    @property
    def time_s(self) -> float:
        """The best figure of the run time."""
        return self.time_range.best_s

    @property
    def copies_to_front(self) -> tuple[Affine, ...]:
        """Drawing frame to the sheet's front frame for every copy, the first one first."""
        return tuple(compose(self.drawing_to_front, matrix) for matrix in copy_matrices(self.job.repeats))
