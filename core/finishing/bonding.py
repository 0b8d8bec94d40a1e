"""What holds a piece to what it is mounted on: joint by adhesive, what suits, what to avoid, what to try first.

All of it is common practice without a source unless ``source`` says otherwise; the adhesive's technical and safety data
sheets come first, and the shop's own trials stand beside every answer.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from core.errors import UnreadableError

Verdict = Literal["suits", "test first", "avoid"]

JOINTS: dict[str, str] = {
    "mirror coat": "the mirror's back coat itself is glued",
    "clear face": "bare clear acrylic: the front, an edge, or a bared area",
    "painted face": "paint on bared areas or a painted back is glued",
    "coloured acrylic": "the face or edge of coloured or opal acrylic",
    "laminate": "two-ply engraving laminate",
}
ADHESIVES: dict[str, str] = {
    "thin capillary solvent": "water-thin solvent cement drawn into a closed joint",
    "thickened solvent cement": "solvent cement with body, fills gaps",
    "transfer tape": "sheet adhesive or double-sided tape",
    "neutral silicone": "silicone that cures neutral, without acetic acid",
    "cyanoacrylate": "instant glue",
}
NO_SOURCE = "common practice, no source"

_SOLVENT = (
    "Solvent vapours: ventilate, no flame or spark, gloves; the cement's safety data sheet and local codes come first."
)
_CYANO = "Bonds skin and gives off irritating vapour: ventilate; the safety data sheet comes first."
_TAPE = "Clean both faces as the tape's data sheet says; press all over, it takes about a day to reach its strength."
_SILICONE = "Ventilate while it cures; the data sheet names the cure time and what it must not touch."
_CAUTIONS = {
    "thin capillary solvent": _SOLVENT,
    "thickened solvent cement": _SOLVENT,
    "transfer tape": _TAPE,
    "neutral silicone": _SILICONE,
    "cyanoacrylate": _CYANO,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BondTrial:
    """What the shop itself saw. ``photo`` is a path."""

    joint: str
    adhesive: str
    verdict: Verdict
    stock: str = ""
    date: str = ""
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BondAdvice:
    """One answer. ``trials``: the shop's own for this joint and adhesive, which weigh more."""

    joint: str
    adhesive: str
    verdict: Verdict
    why: str
    how: str
    caution: str
    source: str = NO_SOURCE
    trials: tuple[BondTrial, ...] = ()


_TABLE: dict[tuple[str, str], tuple[Verdict, str, str]] = {
    ("mirror coat", "thin capillary solvent"): (
        "test first",
        "Drawn in at the edge it holds the sheet and leaves the coat alone; a pool of it on the coat dissolves the "
        "backing.",
        "Only at the edge of a closed joint, a little at a time. A drop that falls beside is dabbed up, never wiped: "
        "wiping takes the coat along.",
    ),
    ("mirror coat", "thickened solvent cement"): (
        "avoid",
        "Its solvent stays wet for long under the coat and makes it blister, which shows from the front.",
        "Use transfer tape, or bare the area first and glue the clear face.",
    ),
    ("mirror coat", "transfer tape"): (
        "suits",
        "No solvent: the coat stays as it is. The joint is only as strong as the coat's hold on the sheet.",
        "Clean without solvent, lay one edge first, roll out the air; heavy pieces need a mechanical hold besides.",
    ),
    ("mirror coat", "neutral silicone"): (
        "suits",
        "Neutral cure leaves the backing alone; acetic cure attacks it.",
        "In stripes with air between them, not all over, so that it can cure.",
    ),
    ("mirror coat", "cyanoacrylate"): (
        "avoid",
        "Its vapour leaves a white bloom, and it can craze acrylic under stress.",
        "Use transfer tape or neutral silicone.",
    ),
    ("clear face", "thin capillary solvent"): (
        "suits",
        "It joins acrylic to acrylic clear and strong where the joint closes without a gap.",
        "Flat dry faces held together, drawn in from the edge; a dropped bead is dabbed, never wiped. Laser-cut edges "
        "under stress can craze: let them rest or anneal as the sheet's maker says.",
    ),
    ("clear face", "thickened solvent cement"): (
        "suits",
        "It fills small gaps; where it is thick it shrinks and bubbles show.",
        "A thin even bead, pressed until it meets; keep it off any coat.",
    ),
    ("clear face", "transfer tape"): (
        "test first",
        "It holds, but is seen through a clear face.",
        "Only where something covers it, or with a tape meant to be looked through; try it on a scrap.",
    ),
    ("clear face", "neutral silicone"): (
        "test first",
        "Not every neutral silicone holds on acrylic.",
        "Try a strip on a scrap, pull after it has cured.",
    ),
    ("clear face", "cyanoacrylate"): (
        "avoid",
        "White bloom around the joint, and crazing of stressed edges.",
        "Use thin capillary solvent or tape.",
    ),
    ("painted face", "thin capillary solvent"): (
        "avoid",
        "It dissolves most paints, and the colour runs where it is seen.",
        "Keep paint off the joint, or use transfer tape on cured paint.",
    ),
    ("painted face", "thickened solvent cement"): (
        "avoid",
        "It softens paint and lifts it.",
        "Keep paint off the joint, or use transfer tape on cured paint.",
    ),
    ("painted face", "transfer tape"): (
        "test first",
        "It holds on paint that has fully cured; the joint is only as strong as the paint's hold on the sheet.",
        "After the full cure, not before; pull a strip off a painted scrap first.",
    ),
    ("painted face", "neutral silicone"): (
        "test first",
        "Its hold depends on the paint.",
        "After the full cure; try it on a painted scrap.",
    ),
    ("painted face", "cyanoacrylate"): (
        "test first",
        "It can soften or stain paint, and blooms beside the joint.",
        "Tiny dots where they can't be seen; try it on a painted scrap.",
    ),
    ("coloured acrylic", "thin capillary solvent"): (
        "suits",
        "Like clear acrylic; marks show more on dark faces.",
        "Draw it in from the edge; dab drops, never wipe.",
    ),
    ("coloured acrylic", "thickened solvent cement"): (
        "suits",
        "It fills small gaps and is not seen behind opaque sheet.",
        "A thin even bead; what is pressed out marks the face, so mask it.",
    ),
    ("coloured acrylic", "transfer tape"): (
        "suits",
        "Not seen behind opaque sheet.",
        "Clean as the tape's data sheet says, press all over.",
    ),
    ("coloured acrylic", "neutral silicone"): (
        "test first",
        "Not every neutral silicone holds on acrylic.",
        "Try a strip on a scrap, pull after it has cured.",
    ),
    ("coloured acrylic", "cyanoacrylate"): (
        "test first",
        "Quick, but it blooms, and the bloom shows on dark faces.",
        "Little dots away from the edge; try it on a scrap.",
    ),
    ("laminate", "thin capillary solvent"): (
        "test first",
        "Laminates differ; the cap may be of a plastic that the solvent dissolves or does not touch.",
        "Ask the sheet's maker what it is made of, try the offcut's back.",
    ),
    ("laminate", "thickened solvent cement"): (
        "test first",
        "It can warp thin laminate or strike through the cap.",
        "Try it on an offcut and wait a day.",
    ),
    ("laminate", "transfer tape"): (
        "suits",
        "Even hold without solvent; thin laminate stays flat.",
        "Tape the whole sheet before it is cut, so that every piece has it to its edge.",
    ),
    ("laminate", "neutral silicone"): (
        "test first",
        "It holds most laminates, but thick beads show as waves in thin sheet.",
        "Thin even stripes; try it on an offcut.",
    ),
    ("laminate", "cyanoacrylate"): (
        "test first",
        "Quick for small plates; it blooms on dark caps.",
        "Little dots; try it on an offcut.",
    ),
}


def bond_advice(joint: str, adhesive: str, *, trials: Iterable[BondTrial] = ()) -> BondAdvice:
    """What is known of this adhesive on this joint. Raises UnreadableError for a word that is not in the tables."""
    if joint not in JOINTS:
        raise UnreadableError(f"“{joint}” is no joint known here.", hint=f"Name one of: {', '.join(JOINTS)}.")
    if adhesive not in ADHESIVES:
        raise UnreadableError(f"“{adhesive}” is no adhesive known here.", hint=f"Name one of: {', '.join(ADHESIVES)}.")
    verdict, why, how = _TABLE[joint, adhesive]
    own = tuple(trial for trial in trials if (trial.joint, trial.adhesive) == (joint, adhesive))
    return BondAdvice(
        joint=joint, adhesive=adhesive, verdict=verdict, why=why, how=how, caution=_CAUTIONS[adhesive], trials=own
    )
