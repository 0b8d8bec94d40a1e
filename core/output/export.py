"""Hand-over to a file: SVG, DXF or the job itself, told by the name's ending."""

from dataclasses import dataclass
from pathlib import Path

import shapely

from core.artwork.drawing import Finding
from core.atomic import write_atomically
from core.errors import JobError, UnreadableError
from core.job.coarser_screens import ruling_that_fits
from core.job.file_sizes import dxf_bytes
from core.job.job_file import job_file_bytes
from core.job.plan import Plan
from core.output.dxf_writer import write_dxf
from core.output.proof import ReadBack
from core.output.settings_document import check_document, settings_document
from core.output.svg_writer import write_svg
from core.progress import Progress, part, silent

EXPORT_SUFFIXES = (".svg", ".dxf", ".tain")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """A file's bytes, and how they compared with the plan when they were read back (None for a job file)."""

    data: bytes
    read_back: ReadBack | None


def export(plan: Plan, path: Path, *, overwrite: bool = False, progress: Progress = silent) -> ReadBack | None:
    """Write the plan, once it was read back and found to be what was planned. Raises Cancelled when progress does.

    The job itself (.tain) is saved whatever its state. Raises JobError when a problem stops the job or what was read
    back differs, UnreadableError for an unknown ending, WriteError when it can't be written or exists and
    ``overwrite`` is False.
    """
    check_suffix(path)
    made = exported(plan, path.suffix.lower(), progress=progress)
    progress(1.0, "writing the file")
    write_atomically(path, made.data, overwrite=overwrite)
    return made.read_back


def check_suffix(path: Path) -> None:
    """Raises UnreadableError when the name does not end in something that can be written."""
    if path.suffix.lower() not in EXPORT_SUFFIXES:
        raise UnreadableError(
            f"{path.name} does not say what to write.", hint=f"End the name in {', '.join(EXPORT_SUFFIXES)}."
        )


def export_bytes(plan: Plan, suffix: str) -> bytes:
    """The file's bytes for ".svg", ".dxf" or ".tain"; raises as ``export`` does."""
    return exported(plan, suffix).data


def exported(plan: Plan, suffix: str, *, progress: Progress = silent) -> Exported:
    """The same with what reading it back gave. Raises Cancelled when the progress callback does."""
    if suffix == ".tain":
        return Exported(data=job_file_bytes(plan.job), read_back=None)
    data = _written(plan, suffix, part(progress, 0.0, 0.45))
    from core.output.proving import prove

    return Exported(data=data, read_back=prove(data, suffix, plan, progress=part(progress, 0.45, 1.0)))


def _written(plan: Plan, suffix: str, progress: Progress) -> bytes:
    for problem in problems(plan):
        raise JobError(problem.message)
    if not _burns_something(plan):
        raise JobError(
            "Nothing in this job is to be burned.", hint="Give at least one shape to a fill, cut or score layer."
        )
    document = check_document(settings_document(plan))
    if suffix == ".dxf":
        _check_dxf_size(plan, progress)
        return write_dxf(plan, document, progress=progress)
    return write_svg(plan, document, progress=progress)


DXF_BYTES_AN_OUTLINE = 300
"""Of what is no screen."""
MOST_DXF_BYTES = 100_000_000


def _check_dxf_size(plan: Plan, progress: Progress) -> None:
    """Raises JobError where a screened picture makes a DXF that nothing opens, naming the ruling that would do."""
    screens = [layer.screen for layer in plan.layers if layer.screen is not None]
    solid = sum(shapely.get_num_geometries(layer.outlines) for layer in plan.layers)
    outlines = solid + sum(len(screen.spans) for screen in screens)
    of_solid = solid * DXF_BYTES_AN_OUTLINE
    size = of_solid + sum(map(dxf_bytes, screens))
    if size <= MOST_DXF_BYTES:
        return
    hint = "Simplify the artwork, or write SVG."
    if screens and of_solid < MOST_DXF_BYTES:
        ruling = ruling_that_fits(plan, 0.97 * (MOST_DXF_BYTES - of_solid), progress=progress)
        hint = f"Screen it at {ruling} an inch or coarser, or write SVG." if ruling else "Write SVG."
    raise JobError(f"The {outlines:,} outlines would make a DXF of {size / 1e6:.0f} MB, over 100 MB.", hint=hint)


def problems(plan: Plan) -> list[Finding]:
    """The findings that stop a hand-over."""
    return [finding for finding in plan.findings if finding.severity == "problem"]


def proof_of(plan: Plan) -> ReadBack | None:
    """What reading this plan's SVG back gives, None while the plan can't be exported. Raises JobError if it differs."""
    if problems(plan) or not _burns_something(plan):
        return None
    return exported(plan, ".svg").read_back


def _burns_something(plan: Plan) -> bool:
    return any(layer.shape_ids for layer in plan.layers if layer.layer.purpose != "guide")
