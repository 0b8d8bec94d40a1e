"""The shop's cautions speak up in a job that would repeat what came out wrong."""

from collections.abc import Sequence
from dataclasses import replace

from core.errors import TainError
from core.job.painting.colouring import paints_of_shapes
from core.job.plan import Plan
from core.shop_book.cautions_kept import known_cautions
from core.trouble.case.case import case_of
from core.trouble.causes.caution import LearnedCaution
from core.trouble.remembered import repeated


def with_cautions_spoken(plan: Plan) -> Plan:
    """The plan with a finding for each caution of the shop book that the job would repeat; never makes a book.

    A book that can't be opened says nothing here: whoever opens it for the maker tells.
    """
    try:
        cautions = known_cautions()
    except TainError:
        return plan
    concerned = cautions_about(plan, cautions)
    if not concerned:
        return plan
    spoken = repeated(case_of(plan), concerned)
    return replace(plan, findings=(*plan.findings, *spoken)) if spoken else plan


def cautions_about(plan: Plan, cautions: Sequence[LearnedCaution]) -> tuple[LearnedCaution, ...]:
    """The cautions about this job's paints, stock, adhesive or machine, whatever they say of its figures."""
    job = plan.job
    if not cautions:
        return ()
    names = {
        "paint": {paint.name.casefold() for paint in paints_of_shapes(plan)[1]},
        "stock": {job.stock.name.casefold()},
        "adhesive": {job.finishing.adhesive.casefold()},
        "machine": {job.machine.name.casefold()},
    }
    return tuple(one for one in cautions if one.thing.casefold() in names[one.about])
