"""The two ways to paint held against each other, colour by colour: minutes of hands and machine, waits, film, risk."""

from dataclasses import dataclass, replace

from core.errors import JobError
from core.finishing.binders import burn_refusal
from core.finishing.paints import BARE, Way
from core.finishing.steps import PaintPlan
from core.job.painting.burning import burn_plan
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.progress import Progress, part, silent

PUT_BACK_MIN = 6.0
"""To lay a sheet on its datum again, focus, and start one more burn. Invented, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFigures:
    """What one way takes for the whole piece with one colour done that way.

    hands_min: masking, and laying the sheet back for later burns; machine_min: all burns; cure_h: waits before burns;
    film_cm2: film cut; tight_places, specks: of all masks together; at_risk: what in the burns can spoil the piece.
    """

    hands_min: float
    machine_min: float
    cure_h: float
    film_cm2: float
    tight_places: int
    specks: int
    at_risk: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOffer:
    """Both ways for one colour, the other colours as they are chosen. burned is None for the first colour.

    refused: why what lies under it must not be burned through, empty where it may be.
    """

    name: str
    chosen: Way
    better: Way
    masked: WayFigures
    burned: WayFigures | None
    refused: str
    why: str


def way_offers(plan: Plan, *, progress: Progress = silent) -> tuple[WayOffer, ...]:
    """An offer for each colour, in the order they are painted. Raises JobError without a datum."""
    painting = paint_plan(plan)
    names = [step.area.paint.name for step in painting.steps]
    offers = []
    for place, name in enumerate(names):
        share = part(progress, place / len(names), (place + 1) / len(names))
        share(0.0, "comparing ways to paint")
        offers.append(_offer(plan, painting, name, first=place == 0))
    return tuple(offers)


def _offer(plan: Plan, painting: PaintPlan, name: str, *, first: bool) -> WayOffer:
    chosen: Way = "burn" if not first and plan.job.finishing.burned_later(name) else "mask"
    masked = way_figures(_with_way(plan, name, "mask"))
    if first or not plan.job.stock.coat:
        why = "The first colour is cleared in the first burn." if first else "Without a coat nothing keeps paint off."
        return WayOffer(name=name, chosen=chosen, better="mask", masked=masked, burned=None, refused="", why=why)
    before = painting.order[: painting.order.index(name)]
    paints = {step.area.paint.name: step.area.paint for step in painting.steps}
    refused = "; ".join(
        f"{other}: {why}"
        for other in before
        for paint in (paints[other],)
        for why in (burn_refusal(maker=paint.maker, binder=paint.binder, sheet_read=paint.sheet_read),)
        if why
    )
    try:
        burned = way_figures(_with_way(plan, name, "burn"))
    except JobError as error:
        said = error.message
        return WayOffer(name=name, chosen=chosen, better="mask", masked=masked, burned=None, refused=said, why=said)
    better, why = _better(masked, burned, refused)
    return WayOffer(name=name, chosen=chosen, better=better, masked=masked, burned=burned, refused=refused, why=why)


def _better(masked: WayFigures, burned: WayFigures, refused: str) -> tuple[Way, str]:
    """Which is better and why: what must not be done first, then what would spoil the piece, then minutes of hands."""
    if refused:
        return "mask", f"It must not be burned later: {refused}."
    saved_min = masked.hands_min - burned.hands_min
    more_min = burned.machine_min - masked.machine_min
    tight = masked.tight_places + masked.specks - burned.tight_places - burned.specks
    told = (
        f"Burned later it takes {abs(saved_min):.0f} min {'less' if saved_min >= 0 else 'more'} of hands, "
        f"{abs(more_min):.0f} min {'more' if more_min >= 0 else 'less'} of the machine, "
        f"{max(0.0, burned.cure_h - masked.cure_h):.0f} h more of waiting, "
        f"{masked.film_cm2 - burned.film_cm2:.0f} cm² less film"
    )
    new_risks = [risk for risk in burned.at_risk if risk not in masked.at_risk]
    if masked.specks > burned.specks:
        return "burn", f"{told}; its mask would leave out {masked.specks - burned.specks} specks."
    if new_risks:
        return "mask", f"{told}; but {new_risks[0][:1].lower()}{new_risks[0][1:]}"
    if tight > 0 and saved_min >= 0:
        return "burn", f"{told}; {tight} tight places fewer."
    return ("burn" if saved_min > more_min else "mask"), f"{told}."


def _with_way(plan: Plan, name: str, way: Way) -> Plan:
    """The same plan with one colour done that way; areas that stay bare are burned last where anything is."""
    finishing = plan.job.finishing
    others = tuple(pair for pair in finishing.ways if pair[0] != name)
    ways = (*others, (name, way)) if way == "burn" else others
    if any(one == "burn" for _, one in ways) and not any(of == BARE for of, _ in ways):
        ways = (*ways, (BARE, "burn"))
    return replace(plan, job=replace(plan.job, finishing=replace(finishing, ways=ways)))


def way_figures(plan: Plan) -> WayFigures:
    """What the whole piece takes with its colours done as the plan's job says. Raises JobError without a datum."""
    painting = paint_plan(plan)
    burning = burn_plan(plan, painting)
    spoiling = ("overlap-frosts", "stack-not-clean", "turns-freely")
    return WayFigures(
        hands_min=painting.effort_min + PUT_BACK_MIN * (len(burning.burns) - 1),
        machine_min=sum(burn.time_range.best_s for burn in burning.burns) / 60,
        cure_h=sum(burn.wait_h for burn in burning.burns),
        film_cm2=painting.film_mm2 / 100,
        tight_places=sum(len(step.tight_places) for step in painting.steps),
        specks=sum(len(step.specks) for step in painting.steps),
        at_risk=tuple(finding.message for finding in burning.findings if finding.code in spoiling),
    )
