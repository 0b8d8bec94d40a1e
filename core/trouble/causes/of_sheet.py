"""Causes that lie in the sheet, its handling, and its joints."""

from core.trouble.case.case import Case
from core.trouble.causes.cause import Cause, Evidence, evidence

SOLVENT = "Solvent vapours: ventilate, no flame; the safety data sheet and local codes come first."
REST_H = 12.0
"""A cut edge is taken to have rested after that. Common practice, no source."""


def flaw_was_noted(case: Case) -> Evidence | None:
    """Flaws of the piece as noted, and those that show as laid."""
    if case.flaws_noted is None:
        return None
    if case.flaws_shown:
        return evidence(f"{case.flaws_shown} noted flaws lie where they show", 2, "flaws noted on the piece")
    if case.flaws_noted:
        return evidence(f"{case.flaws_noted} flaws are noted, none lies where it shows", -1, "flaws noted on the piece")
    return None


def cement_on_coat(case: Case) -> Evidence | None:
    """Joint and adhesive as chosen."""
    if not case.joint:
        return None
    words = f"{case.adhesive} on {case.joint}: {case.bond_verdict}. {case.bond_why}"
    if "solvent" not in case.adhesive:
        return evidence(words, -2)
    weights = {"avoid": 2, "test first": 1}
    on_coat = case.joint in ("mirror coat", "painted face")
    return evidence(words, weights.get(case.bond_verdict, -1) if on_coat else -1)


def tape_used(case: Case) -> Evidence | None:
    """Whether the joint is a tape."""
    if not case.joint:
        return None
    tape = case.adhesive == "transfer tape"
    return evidence(f"{case.adhesive} holds the joint", 1 if tape else -2)


def paint_cure(case: Case) -> Evidence | None:
    """How long paint cured before it was handled or bonded."""
    noted = case.noted.value("cure_h")
    if noted is None or not case.paints:
        return None
    asked = max(paint.cure_h for paint in case.paints_meant or case.paints)
    return evidence(f"{noted:g} h of cure noted, {asked:g} h asked", 2 if noted < asked else -2)


def edge_rested(case: Case) -> Evidence | None:
    """Rest of a cut edge before cement."""
    noted = case.noted.value("edge_rest_h")
    if noted is None:
        return None
    return evidence(f"{noted:g} h between cut and cement were noted", 2 if noted < REST_H else -2)


def solvent_near_edge(case: Case) -> Evidence | None:
    """Solvent cement anywhere in the job."""
    if not case.joint:
        return None
    solvent = "solvent" in case.adhesive
    return evidence(f"the joint is made with {case.adhesive}", 1 if solvent else -2)


def metal_coat(case: Case) -> Evidence | None:
    """Whether there is a metal that can corrode."""
    if not case.known:
        return None
    metal = "metal" in case.coat or "silver" in case.coat
    return None if metal else evidence(f"the coat is {case.coat or 'none'}, no metal", -2)


SHEET_CAUSES: tuple[Cause, ...] = (
    Cause(
        code="flaw-before",
        name="The mark was in the sheet before it was worked",
        faults=(("coat-marks", "usual"), ("pinholes", "sometimes")),
        evidence=(flaw_was_noted,),
        looks=(("was-there-before", 2), ("across-paint", -2), ("grain-in-paint", -1), ("round-craters", -1)),
        rescue="Touch the coat in from behind with dark or silver paint; a scratch of the front stays.",
        prevent="Look at both sides by a lamp, note each flaw on the piece, lay the artwork beside it.",
        about="stock",
    ),
    Cause(
        code="handling-marks",
        name="The coat was rubbed or scratched while it was handled, weeded or wiped",
        faults=(("coat-marks", "usual"), ("pinholes", "seldom")),
        looks=(("across-paint", 2), ("was-there-before", -2), ("front-nail", -1)),
        rescue="Touch the coat in from behind with dark or silver paint.",
        prevent="Film stays on as long as it can, weed without a knife's point, dab, never wipe.",
        about="stock",
    ),
    Cause(
        code="front-scratched",
        name="The clear front was scratched, or its film was cut",
        faults=(("coat-marks", "sometimes"),),
        looks=(("front-nail", 2), ("across-paint", 1)),
        rescue="Fine scratches in acrylic polish out, as the sheet's maker says.",
        prevent="Leave the front film on, and look along it for cuts before use.",
        about="stock",
    ),
    Cause(
        code="cement-on-coat",
        name="Solvent of the cement got under the coat",
        faults=(("joint-blisters", "usual"), ("creeping", "sometimes"), ("wrinkled", "seldom")),
        evidence=(cement_on_coat,),
        looks=(("at-glue-only", 2), ("air-worms", -2), ("whole-edge", -1)),
        rescue="None; it grows until the solvent is gone. Let it dry flat and cover it.",
        prevent=f"Tape or neutral silicone on the coat, or bare the joint first. {SOLVENT}",
        change="tape on the coat",
        about="adhesive",
        factors=("paint",),
    ),
    Cause(
        code="air-in-tape",
        name="Air was caught under the tape or film",
        faults=(("joint-blisters", "sometimes"),),
        evidence=(tape_used,),
        looks=(("air-worms", 2), ("at-glue-only", 1)),
        rescue="Roll it out towards the nearest edge; prick it from the back where nothing shows.",
        prevent="Lay one edge first and roll from there.",
        about="adhesive",
    ),
    Cause(
        code="bonded-too-soon",
        name="Paint was bonded before it had cured",
        faults=(("joint-blisters", "sometimes"), ("peeling", "seldom"), ("wrinkled", "seldom")),
        evidence=(paint_cure,),
        looks=(("lower-soft", 2), ("at-glue-only", 1), ("air-worms", -1)),
        rescue="Leave it in warm dry air without load until it is hard.",
        prevent="Bond after the full cure, not before.",
        change="longer cure",
        about="paint",
    ),
    Cause(
        code="wet-edge",
        name="Water, cleaner or thinner got at the coat's open edge",
        faults=(("creeping", "usual"),),
        evidence=(metal_coat,),
        looks=(("wet-cleaned", 2), ("whole-edge", 1), ("at-glue-only", -2)),
        rescue="It stops where the edge is dry and sealed; cut back what can be spared.",
        prevent="Seal the edge as the sheet's maker says; no ammonia, no thinner, never spray cleaner at an edge.",
        about="stock",
    ),
    Cause(
        code="hot-edge",
        name="The cut's heat loosened the coat at its edge",
        faults=(("creeping", "sometimes"),),
        evidence=(metal_coat,),
        looks=(("whole-edge", 2), ("wet-cleaned", -2), ("at-glue-only", -2)),
        rescue="Cut back what can be spared, or cover the rim.",
        prevent="Faster with more air, or a bared rim that is painted.",
        about="stock",
    ),
    Cause(
        code="edge-stress",
        name="The cut left stress in the edge, and cement or thinner let it go",
        faults=(("crazing", "usual"),),
        evidence=(edge_rested, solvent_near_edge),
        looks=(("threads-at-cement", 2), ("whole-edge", -1)),
        rescue="None; it does not grow any more once the solvent has gone.",
        prevent=f"Let the edge rest or be annealed as the sheet's maker says, less cement, or tape. {SOLVENT}",
        change="tape on the joint",
        about="adhesive",
        factors=("cured_edges",),
    ),
    Cause(
        code="sheet-stressed",
        name="The sheet itself is under stress: bent in, clamped, or cut too hot",
        faults=(("crazing", "sometimes"),),
        evidence=(),
        looks=(("whole-edge", 2), ("threads-at-cement", -2)),
        rescue="Take the load off; have it annealed as its maker says.",
        prevent="Cast sheet, no forced bends, a slower cut with more air.",
        about="stock",
    ),
)
