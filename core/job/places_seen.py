"""Which places of a fill are worth a look, and where they are found on the front."""

import numpy as np

from core.burning.coverage_map import Place
from core.geometry.affine import apply
from core.job.job import Job
from core.job.plan import LayerPlan
from core.sheet.faces import turn_matrix

SPECK_MM2 = 0.1
"""Under this nobody sees a place of a clean fill at arm's length; common practice, no source."""


def listed_places(planned: LayerPlan) -> tuple[Place, ...]:
    """The places worth a look, worst first: of a fill that comes off clean no specks that nobody sees."""
    if planned.coverage is None or planned.verdict is None:
        return ()
    if planned.verdict.verdict != "clean":
        return planned.coverage.places
    return tuple(one for one in planned.coverage.places if one.kind == "lost" or one.area_mm2 >= SPECK_MM2)


def on_front(job: Job, place: Place) -> tuple[float, float]:
    """Where a place of the bed lies on the front, mm."""
    x_mm, y_mm = apply(turn_matrix(job.turn, job.sheet), np.array([place.x_mm, place.y_mm]))
    return float(x_mm), float(y_mm)
