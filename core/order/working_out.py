"""An order worked out: its parts filled in, laid on sheets, every sheet a job with its plan."""

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from threading import Event

from core.errors import Cancelled, JobError
from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.job.remembering import cached
from core.order.fields import names_in
from core.order.filling import FilledPart, Filler, field_names, part_bounds_mm, template_of
from core.order.laying import Ground, lay
from core.order.order import LaidSheet, Order
from core.order.parts import OrderedPart, parts_of, with_matched_fields
from core.order.row_findings import RowFinding, in_list_order
from core.order.sheet_jobs import body_box_mm, sheet_job
from core.order.templates import Template
from core.progress import Progress, part, silent
from core.sheet.offcuts import Piece

_WAIT_S = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilledOrder:
    """The parts of an order with their shapes, by part number, and all that was found."""

    order: Order
    parts: tuple[OrderedPart, ...]
    filled: Mapping[int, FilledPart]
    findings: tuple[RowFinding, ...]

    def size_mm(self, number: int) -> tuple[float, float]:
        """Width and height of all that a part burns."""
        x0, y0, x1, y1 = part_bounds_mm(self.filled[number])
        return x1 - x0, y1 - y0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkedSheet:
    """One sheet: what lies where, its job and its plan. name: what its files are called."""

    name: str
    laid: LaidSheet
    job: Job
    plan: Plan


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkedOrder:
    """All of an order, worked out."""

    filled: FilledOrder
    sheets: tuple[WorkedSheet, ...]
    findings: tuple[RowFinding, ...]

    @property
    def order(self) -> Order:
        """The order, laid."""
        return self.filled.order


def design_template(order: Order) -> Template:
    """The design as a template. Raises JobError without artwork, UnreadableError where no list can fill it."""
    source = order.design.source
    if source is None:
        raise JobError("There is no artwork in this order.", hint="Open a design first.")
    return cached(("template", source, order.picked), lambda: template_of(source, order.picked))


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignTexts:
    """What a design says: names of its fields; its other texts, each with its number among all, which may be picked."""

    fields: tuple[str, ...]
    others: tuple[tuple[int, str], ...]


def design_texts(order: Order) -> DesignTexts:
    """The fields and the other texts of the order's design. Raises as ``design_template``."""
    template = design_template(order)
    taken = {one.text for one in order.picked}
    others = [
        (number, said)
        for number, said in enumerate(template.texts)
        if said and not names_in(said) and number not in taken
    ]
    return DesignTexts(fields=field_names(template), others=tuple(others))


def same_parts(order: Order, other: Order) -> bool:
    """Whether two orders come to the same parts, wherever these lie."""
    return _without_places(order) == _without_places(other)


def _without_places(order: Order) -> Order:
    return replace(order, way="list order", spacing_mm=0.0, marks=False, sheets=())


def _filler(order: Order, template: Template) -> Filler:
    """What fills the design; remembered with the parts it has set, whatever column they came from."""
    ways = tuple(replace(one, column="", running=None) for one in order.fields)
    return cached(
        ("filler", order.design, order.picked, ways), lambda: Filler(next(plan_steps(order.design)), template, ways)
    )


def fill_order(order: Order, *, progress: Progress = silent) -> FilledOrder:
    """All parts with their texts in place. Raises JobError, UnreadableError, Cancelled."""
    progress(0.0, "reading the design")
    template = design_template(order)
    order = with_matched_fields(order, field_names(template))
    parts = parts_of(order)
    filler = _filler(order, template)
    findings = list(parts.findings)
    for text in filler.unfilled:
        message = (
            f"The text “{text[:40]}” can't be filled in: it stands in a symbol, a dimension or the like."
            " Write it beside that."
        )
        findings.append(RowFinding(code="field-out-of-reach", message=message, severity="warning"))
    filled: dict[int, FilledPart] = {}
    told: set[tuple[int, str, str]] = set()
    for index, one in enumerate(parts.parts):
        progress(index / len(parts.parts), f"setting {one.words[:40]}")
        made = filled[one.number] = filler.filled(dict(one.values))
        for word in made.told:
            if (one.row, word.code, word.message) not in told:
                told.add((one.row, word.code, word.message))
                at = f"Row {one.row}" if one.row else f"Part {one.number}"
                findings.append(
                    RowFinding(
                        code=word.code, message=f"{at}: {word.message}", severity=word.severity, row=one.row or None
                    )
                )
    return FilledOrder(order=order, parts=parts.parts, filled=filled, findings=in_list_order(findings))


def work_out(
    order: Order,
    grounds: Sequence[Ground] = (),
    pieces: Mapping[str, Piece] | None = None,
    *,
    lay_anew: bool = True,
    progress: Progress = silent,
) -> WorkedOrder:
    """The order filled in, laid on these pieces (see ``laying``), every sheet planned; several sheets at a time.

    pieces: of the rack, by id. lay_anew: False keeps the sheets as they lie. Raises JobError, UnreadableError,
    Cancelled.
    """
    filled = fill_order(order, progress=part(progress, 0.0, 0.25))
    findings = filled.findings
    if lay_anew or not order.sheets:
        laid = lay(filled.order, filled.parts, filled.filled, grounds, progress=part(progress, 0.25, 0.35))
        filled = FilledOrder(order=laid.order, parts=filled.parts, filled=filled.filled, findings=filled.findings)
        findings += laid.findings
    jobs = sheet_jobs(filled, pieces or {})
    plans = _planned(jobs, part(progress, 0.35, 1.0))
    sheets = tuple(
        WorkedSheet(name=f"sheet-{number}", laid=laid_sheet, job=job, plan=plan)
        for number, (laid_sheet, job, plan) in enumerate(zip(filled.order.sheets, jobs, plans, strict=True), start=1)
    )
    return WorkedOrder(filled=filled, sheets=sheets, findings=in_list_order(findings))


def sheet_jobs(filled: FilledOrder, pieces: Mapping[str, Piece]) -> tuple[Job, ...]:
    """A job for each sheet of a laid order."""
    box_mm = body_box_mm(next(iter(filled.filled.values())))
    order = filled.order
    return tuple(
        sheet_job(
            order,
            laid,
            filled.parts,
            filled.filled,
            box_mm=box_mm,
            name=_name(order, number),
            piece=pieces.get(laid.piece_id),
        )
        for number, laid in enumerate(order.sheets, start=1)
    )


def _name(order: Order, number: int) -> str:
    assert order.design.source is not None
    return f"{order.design.source.name.rpartition('.')[0] or order.design.source.name}, sheet {number}"


def _planned(jobs: Sequence[Job], progress: Progress) -> list[Plan]:
    """The plans, on all cores; whoever cancels stops all of them."""
    stopped = Event()
    shares = [0.0] * len(jobs)

    def work(index: int) -> Plan:
        def report(share: float, doing: str) -> None:
            if stopped.is_set():
                raise Cancelled
            shares[index] = share

        plan = prepare(jobs[index], progress=report)
        shares[index] = 1.0
        return plan

    with ThreadPoolExecutor(max_workers=max(1, min(len(jobs), os.cpu_count() or 1))) as pool:
        futures: list[Future[Plan]] = [pool.submit(work, index) for index in range(len(jobs))]
        try:
            waiting = set(futures)
            while waiting:
                done, waiting = wait(waiting, timeout=_WAIT_S, return_when=FIRST_COMPLETED)
                for one in done:
                    one.result()
                ready = sum(share >= 1.0 for share in shares)
                progress(sum(shares) / len(shares), f"working out sheets, {ready} of {len(jobs)} done")
        except BaseException:
            stopped.set()
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return [one.result() for one in futures]
