"""Hand-over to a file: SVG, DXF or the job itself, told by the name's ending."""

from pathlib import Path

from core.artwork.drawing import Finding
from core.atomic import write_atomically
from core.errors import JobError, UnreadableError
from core.job.job_file import job_file_bytes
from core.job.plan import Plan
from core.output.settings_document import check_document, settings_document

EXPORT_SUFFIXES = (".svg", ".dxf", ".tain")


def export(plan: Plan, path: Path, *, overwrite: bool = False) -> None:
    """Write the plan. The job itself (.tain) is saved whatever its state.

    Raises JobError when a problem stops the job, UnreadableError for an unknown ending, WriteError when it can't be
    written or exists and ``overwrite`` is False.
    """
    check_suffix(path)
    write_atomically(path, export_bytes(plan, path.suffix.lower()), overwrite=overwrite)


def check_suffix(path: Path) -> None:
    """Raises UnreadableError when the name does not end in something that can be written."""
    if path.suffix.lower() not in EXPORT_SUFFIXES:
        raise UnreadableError(
            f"{path.name} does not say what to write.", hint=f"End the name in {', '.join(EXPORT_SUFFIXES)}."
        )


def export_bytes(plan: Plan, suffix: str) -> bytes:
    """The file's bytes for ".svg", ".dxf" or ".tain"; raises as ``export`` does."""
    if suffix == ".tain":
        return job_file_bytes(plan.job)
    for problem in problems(plan):
        raise JobError(problem.message)
    if not any(layer.shape_ids for layer in plan.layers if layer.layer.purpose != "guide"):
        raise JobError(
            "Nothing in this job is to be burned.", hint="Give at least one shape to a fill, cut or score layer."
        )
    document = check_document(settings_document(plan))
    if suffix == ".dxf":
        from core.output.dxf_writer import write_dxf

        return write_dxf(plan, document)
    from core.output.svg_writer import write_svg

    return write_svg(plan, document)


def problems(plan: Plan) -> list[Finding]:
    """The findings that stop a hand-over."""
    return [finding for finding in plan.findings if finding.severity == "problem"]
