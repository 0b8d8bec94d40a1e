"""What screening a fill's pictures costs: run time and size of its files, beside the same outlines as a plain fill."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.artwork.drawing import Finding
from core.burning.row_offsets import held_recipe
from core.burning.run_time import TimeRange, fill_time_range
from core.burning.scan_rows import scan_rows
from core.geometry.affine import apply_to_region
from core.job.file_sizes import dxf_bytes, svg_bytes
from core.job.job import Job
from core.job.plan import LayerPlan
from core.sheet.faces import turn_matrix
from core.units import duration_text


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenCosts:
    """before: run time of the layer as a plain fill; after: screened. spans, svg_bytes, dxf_bytes: of its screen."""

    before: TimeRange
    after: TimeRange
    spans: int
    svg_bytes: int
    dxf_bytes: int

    @property
    def before_words(self) -> str:
        """The plain fill in a few words."""
        return f"{_time(self.before)} as a plain fill, a few kB in any file"

    @property
    def after_words(self) -> str:
        """The screen in a few words."""
        sizes = f"{_megabytes(self.svg_bytes)} as SVG, {_megabytes(self.dxf_bytes)} as DXF"
        return f"{_time(self.after)} screened, {self.spans:,} spans, {sizes}"


def screen_costs(job: Job, planned: LayerPlan) -> ScreenCosts | None:
    """Of a fill whose rows are known; None where nothing is screened."""
    if planned.screen is None or planned.rows is None:
        return None
    recipe = held_recipe(planned.layer.recipe, job.machine)
    bed = apply_to_region(turn_matrix(job.turn, job.sheet), planned.region)
    plain = scan_rows(bed, pitch_mm=recipe.pitch_mm, angle_deg=recipe.scan_angle_deg)
    return ScreenCosts(
        before=fill_time_range(plain, recipe, job.machine),
        after=planned.time_range,
        spans=len(planned.screen.spans),
        svg_bytes=svg_bytes(planned.screen),
        dxf_bytes=dxf_bytes(planned.screen),
    )


def cost_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """Run time and size before and after, for each fill with screened pictures."""
    findings = []
    for planned in layers:
        if (costs := screen_costs(job, planned)) is not None:
            message = f"{planned.layer.name}: before {costs.before_words}; after {costs.after_words}."
            findings.append(Finding(code="picture-cost", message=message, severity="note", shape_ids=planned.shape_ids))
    return findings


def _time(time: TimeRange) -> str:
    least, most = duration_text(time.least_s), duration_text(time.most_s)
    return least if least == most else f"{least} to {most}"


def _megabytes(size: int) -> str:
    return f"{size / 1e6:.0f} MB" if size >= 9.5e6 else f"{size / 1e6:.1f} MB"
