"""What leads when a fill of a plan is judged."""

from core.burning.headline import Headline, headline
from core.job.job import Job
from core.job.plan import LayerPlan


def layer_headline(job: Job, planned: LayerPlan) -> Headline:
    """The headline of a fill that holds anything."""
    assert planned.verdict is not None
    return headline(
        planned.verdict,
        planned.chance,
        planned.coverage,
        area_mm2=planned.area_mm2,
        stock=job.stock,
        wanted=job.wanted_chance,
    )
