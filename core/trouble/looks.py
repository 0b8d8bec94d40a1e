"""What to look at with a loupe, a lamp, a nail or a rule to tell one cause from another. Common practice, no source."""

from dataclasses import dataclass

from core.errors import UnreadableError
from core.trouble.case.noted import Look


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAt:
    """One question that is answered with yes or no. tool: what it takes."""

    code: str
    question: str
    tool: str


LOOKS: tuple[LookAt, ...] = (
    LookAt(code="even-ridges", tool="loupe", question="From the back, stand thin ridges of coat one pitch apart?"),
    LookAt(code="every-second", tool="loupe", question="Do rows lie in pairs, near and far by turns, or edges zigzag?"),
    LookAt(code="only-some-places", tool="lamp", question="Is it worse at one side or corner of the sheet?"),
    LookAt(code="rough-bare", tool="nail", question="Does a bared, unpainted place feel rough or look white?"),
    LookAt(code="coat-left", tool="lamp behind", question="Does a lamp behind show grey specks or haze of coat left?"),
    LookAt(code="lower-soft", tool="nail", question="In a crack or fold, is the coat beneath still soft or tacky?"),
    LookAt(code="thick-places", tool="loupe", question="Is it where the paint stands thickest: runs, corners, pools?"),
    LookAt(code="only-one-colour", tool="eye", question="Do other colours, put on the same day, lie flat?"),
    LookAt(code="whitish-wipes", tool="cloth", question="Does warm dry air, or a dry cloth, take the white away?"),
    LookAt(
        code="bare-below-flake", tool="loupe", question="Is the sheet clean and shiny under a flake, no paint left?"
    ),
    LookAt(code="round-craters", tool="loupe", question="Are the points round craters with a raised rim?"),
    LookAt(code="grain-in-paint", tool="loupe", question="Does a grain or a hair stick in the paint there?"),
    LookAt(code="light-through", tool="lamp behind", question="Does a lamp behind shine evenly through the colour?"),
    LookAt(code="tint-is-neighbour", tool="eye", question="Is the tint that of the colour put on behind it?"),
    LookAt(code="under-mask-edge", tool="loupe", question="Has paint crept under the edge of the mask, in tongues?"),
    LookAt(code="one-side-only", tool="eye", question="Is the halo on the same side of all areas?"),
    LookAt(code="same-all-round", tool="loupe", question="Is the halo as wide on all sides of an area?"),
    LookAt(code="torn-edge", tool="loupe", question="Is the paint's edge torn or drawn up, as by a peeled film?"),
    LookAt(code="glue-feels", tool="finger", question="Does the ghost feel tacky, or come off with a dry eraser?"),
    LookAt(
        code="print-in-paint", tool="lamp aslant", question="Aslant, is the film's own grain printed into the paint?"
    ),
    LookAt(code="was-there-before", tool="notes", question="Was the mark there before, or does it run on into waste?"),
    LookAt(code="across-paint", tool="loupe", question="Does the mark run across paint and coat alike?"),
    LookAt(code="front-nail", tool="nail", question="Does a nail on the front catch at the mark?"),
    LookAt(code="at-glue-only", tool="eye", question="Is it only where glue or cement has come to lie?"),
    LookAt(code="air-worms", tool="eye", question="Are the bubbles flat worms that a roller moves?"),
    LookAt(code="whole-edge", tool="eye", question="Does it run along the whole edge, glued or not?"),
    LookAt(code="wet-cleaned", tool="notes", question="Was the edge wet: cleaner, thinner, rain, a damp room?"),
    LookAt(code="threads-at-cement", tool="loupe", question="Do the threads begin where cement or thinner ran?"),
    LookAt(code="brown-stains", tool="eye", question="Are there brown stains of smoke beside the cuts?"),
    LookAt(code="glue-stays", tool="finger", question="Does glue stay on the sheet though the film came off whole?"),
    LookAt(code="cuts-partly", tool="eye", question="Does part of the outline fall through and part hang on?"),
    LookAt(code="scrap-cuts", tool="scrap", question="Does the same cut go through another sheet of this thickness?"),
    LookAt(code="lens-smeared", tool="lamp", question="With the machine off, as its manual says: is its lens smeared?"),
    LookAt(code="off-by-kerf", tool="rule", question="Is all of it off by about a cut's width, whatever its size?"),
    LookAt(code="off-in-proportion", tool="rule", question="Is it off in proportion: twice as large, twice as far?"),
    LookAt(code="all-mirrored", tool="eye", question="Is the whole piece mirrored, not the word alone?"),
)
BY_CODE = {look.code: look for look in LOOKS}


def look_answered(text: str) -> Look:
    """An answer as typed: ``rough-bare=yes``. Raises UnreadableError."""
    code, _, answer = (part.strip().casefold() for part in text.partition("="))
    if code not in BY_CODE or answer not in ("yes", "no"):
        raise UnreadableError(
            f"“{text}” is no answer to a look.", hint=f"Write LOOK=yes or LOOK=no with one of: {', '.join(BY_CODE)}."
        )
    return Look(code=code, yes=answer == "yes")
