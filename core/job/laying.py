"""A job moved about on its sheet: what would reach over an edge, which flaws would show; quick enough to drag by."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError
from core.geometry.affine import apply_to_region, translation
from core.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten
from core.job.burned import OVER_THE_EDGE_MM, cleared_region, finished_region
from core.job.fitting import job_footprint
from core.job.plan import Plan
from core.sheet.flaws import ShownFlaw, flaw_region
from core.sheet.offcuts import sheet_region

_FAR_MM = 1e5
_MANY_CORNERS = 2000
_LINE_MM = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """The job moved by (dx, dy) from where its plan has it. over: what reaches over the edge, over_mm: how far.

    shown: flaws that would show. Both in the sheet's front frame. has_flaws: whether the sheet has any.
    """

    dx_mm: float
    dy_mm: float
    over: BaseGeometry
    over_mm: float
    shown: tuple[ShownFlaw, ...]
    has_flaws: bool

    @property
    def fits(self) -> bool:
        """Whether nothing reaches over an edge."""
        return self.over.is_empty


class Laying:
    """A plan's job made ready to be tried at many places of its sheet. Raises JobError when nothing is burned."""

    def __init__(self, plan: Plan) -> None:
        sheet = plan.job.sheet
        self.plan = plan
        self._region = sheet_region(sheet)
        self.burned: BaseGeometry = apply_to_region(plan.drawing_to_front, job_footprint(plan).burned)
        finished, cleared = finished_region(plan.layers), cleared_region(plan.layers)
        self._finished = finished
        self._solid = shapely.union(finished, cleared)
        self._lines = _lines(plan)
        self._cleared = shapely.get_parts(cleared)
        self._tree = shapely.STRtree(self._cleared)
        around = shapely.box(-_FAR_MM, -_FAR_MM, _FAR_MM, _FAR_MM)
        self._beyond = shapely.difference(around, shapely.buffer(self._region, OVER_THE_EDGE_MM, join_style="mitre"))
        self._flaws = [flaw_region(flaw, sheet) for flaw in sheet.flaws]
        self._boxes = shapely.bounds(np.array(self._flaws, object)).reshape(-1, 4)
        self._has_coat = bool(plan.job.stock.coat)
        for region in (self._finished, self._solid, self._lines):
            shapely.prepare(region)

    def at(self, dx_mm: float, dy_mm: float) -> Laid:
        """The job moved by so much from where the plan has it, front frame. Exact."""
        there, back = translation(dx_mm, dy_mm), translation(-dx_mm, -dy_mm)
        beyond = apply_to_region(back, self._beyond)  # the sheet has fewer corners than the job: it is moved instead
        over = [apply_to_region(there, part) for part in self._over(beyond)]
        shown = []
        for number in self._near(dx_mm, dy_mm):
            flaw = self.plan.job.sheet.flaws[number]
            region = self._shown(number, apply_to_region(back, self._flaws[number]))
            if region is not None:
                shown.append(ShownFlaw(number=number, flaw=flaw, region=apply_to_region(there, region)))
        return Laid(
            dx_mm=dx_mm,
            dy_mm=dy_mm,
            over=shapely.union_all([_as_area(part) for part in over]),
            over_mm=self._reach_mm(over),
            shown=tuple(shown),
            has_flaws=bool(self._flaws),
        )

    def _over(self, beyond: BaseGeometry) -> list[BaseGeometry]:
        """What of the job lies there, areas and lines, without the kerf: a cut along the edge is none over it."""
        reaching = [part for part in (self._solid, self._lines) if part.intersects(beyond)]
        return [shapely.intersection(part, beyond) for part in reaching]

    def _near(self, dx_mm: float, dy_mm: float) -> list[int]:
        """The flaws whose boxes meet that of the finished pieces, moved."""
        x0, y0, x1, y1 = self._finished.bounds
        left, top, right, bottom = self._boxes.T
        meet = (right >= x0 + dx_mm) & (left <= x1 + dx_mm) & (bottom >= y0 + dy_mm) & (top <= y1 + dy_mm)
        near: list[int] = np.flatnonzero(meet).tolist()
        return near

    def _shown(self, number: int, here: BaseGeometry) -> BaseGeometry | None:
        """What shows of a flaw that lies here in the plan's own place; None for nothing."""
        if not self._finished.intersects(here):
            return None
        region: BaseGeometry = shapely.intersection(here, self._finished)
        if self._has_coat and self.plan.job.sheet.flaws[number].surface == "coat":
            burned_away = self._cleared[self._tree.query(region, predicate="intersects")]
            region = shapely.difference(region, shapely.union_all(burned_away))
        return region if region.area > 0 else None

    def _reach_mm(self, over: list[BaseGeometry]) -> float:
        corners = shapely.get_coordinates(over)
        if not len(corners):
            return 0.0
        step = max(1, len(corners) // _MANY_CORNERS)
        return float(np.max(shapely.distance(shapely.points(corners[::step]), self._region)))


def _as_area(part: BaseGeometry) -> BaseGeometry:
    """Lines with a width that can be seen."""
    area: BaseGeometry = part if shapely.get_dimensions(part) == 2 else shapely.buffer(part, _LINE_MM / 2)
    return area


def _lines(plan: Plan) -> BaseGeometry:
    """All cuts and scores as lines, front frame."""
    paths = [path for layer in plan.layers if layer.layer.purpose in ("cut", "score") for path in layer.paths]
    parts = [points for path in paths for points in flatten(path, DEFAULT_TOLERANCE_MM).parts() if len(points) > 1]
    return shapely.MultiLineString([shapely.LineString(points) for points in parts])


def laying_of(plan: Plan) -> Laying | None:
    """The plan's job made ready to be moved about; None when nothing is burned."""
    try:
        return Laying(plan)
    except JobError:
        return None
