"""What a finished piece can show, as seen from its front and from its back. The words are the trade's plain ones."""

from dataclasses import dataclass

from core.errors import UnreadableError


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that can be seen. front, back: how it looks from there; synonyms: what else people call it."""

    code: str
    name: str
    front: str
    back: str
    synonyms: tuple[str, ...] = ()


FAULTS: tuple[Fault, ...] = (
    Fault(
        code="scan-lines",
        name="scan lines or a grid in the paint",
        front="even stripes or a fine grid across the painted area, all one distance apart",
        back="thin ridges of coat under the paint, along the scan rows",
        synonyms=("stripes", "lines", "hatching", "banding", "bands", "rows"),
    ),
    Fault(
        code="frosted",
        name="frosted or clumpy texture",
        front="the painted area looks matt, grainy or clumped instead of smooth",
        back="the bared sheet feels rough and looks white before it is painted",
        synonyms=("rough", "grainy", "matt", "cloudy", "milky", "texture", "clumps", "sandy"),
    ),
    Fault(
        code="cracked",
        name="cracked paint",
        front="dark hairs or a net of cracks in the colour",
        back="the coat of paint has parted, edges flat or turned up",
        synonyms=("cracks", "cracking", "crazed paint", "checking", "alligator", "fissures", "split"),
    ),
    Fault(
        code="wrinkled",
        name="wrinkled paint",
        front="a lined, shrivelled look; light breaks in folds",
        back="the paint has lifted into folds like skin",
        synonyms=("lifting", "shrivelled", "folds", "puckered", "swollen", "crinkled"),
    ),
    Fault(
        code="dull",
        name="dull paint",
        front="the colour is flat or whitish where it should be full",
        back="the paint has a bloom or no gloss",
        synonyms=("blush", "bloom", "whitish", "hazy", "faded", "no gloss"),
    ),
    Fault(
        code="patchy",
        name="patchy paint",
        front="lighter and darker clouds in one colour",
        back="thick and thin places; light comes through unevenly",
        synonyms=("uneven", "clouds", "blotchy", "mottled", "streaky"),
    ),
    Fault(
        code="bled",
        name="paint that bled",
        front="a colour stands in a neighbour's area, with a ragged edge",
        back="paint has crept under the edge of the mask",
        synonyms=("bleeding", "ran", "runs", "creeping paint", "ragged edge", "seeped"),
    ),
    Fault(
        code="peeling",
        name="peeling paint",
        front="silvery or pale islands where the colour has let go",
        back="flakes come off, or off with the mask",
        synonyms=("flaking", "flakes", "chipping", "lifts off", "adhesion", "came off"),
    ),
    Fault(
        code="showing-through",
        name="a colour that shows through",
        front="another colour, or light, tints an area",
        back="the first colour is thin where another lies behind it",
        synonyms=("translucent", "see through", "tinted", "too thin", "shadow"),
    ),
    Fault(
        code="pinholes",
        name="pinholes",
        front="fine points of light or of another colour",
        back="tiny craters or open dots in the paint",
        synonyms=("dots", "craters", "fish eyes", "specks", "bubbles in paint"),
    ),
    Fault(
        code="edge-halo",
        name="a halo or sliver at an edge",
        front="a thin bright or dark line along one side of an area, or all round it",
        back="paint or coat ends beside the edge that was meant",
        synonyms=("sliver", "outline", "gap at edge", "offset", "misregistered", "shifted", "fringe"),
    ),
    Fault(
        code="mask-ghost",
        name="the ghost of a mask",
        front="the outline of a mask shows in a colour that lay under it",
        back="a step, a print or glue where film lay",
        synonyms=("imprint", "tape mark", "glue mark", "residue", "outline of tape"),
    ),
    Fault(
        code="coat-marks",
        name="scratches and dents of the coat",
        front="fine lines, dots or dents in the mirror or the colour that stayed",
        back="the coat is scratched, dented or rubbed",
        synonyms=("scratch", "dent", "scuff", "rubbed", "nick", "damaged mirror"),
    ),
    Fault(
        code="joint-blisters",
        name="blisters at a joint",
        front="bubbles or worms in the mirror beside the glue",
        back="the coat has risen off the sheet at the joint",
        synonyms=("blister", "bubbles", "glue", "cement", "swollen coat", "lifted mirror"),
    ),
    Fault(
        code="creeping",
        name="silver that creeps from a cut edge",
        front="the mirror turns dark, clear or rusty from the edge inwards",
        back="the coat is loose or stained along the edge",
        synonyms=("edge rot", "black edge", "desilvering", "corrosion", "edge stain"),
    ),
    Fault(
        code="crazing",
        name="crazing at a cut edge",
        front="fine silvery threads run in from the edge",
        back="the same threads in the sheet itself, most beside cement or thinner",
        synonyms=("threads", "stress cracks", "cracks in acrylic", "edge cracks"),
    ),
    Fault(
        code="burned-film",
        name="burned or sticky film",
        front="brown stains or glue on the clear face",
        back="melted film, or glue that stays when it is pulled",
        synonyms=("sticky", "melted", "scorched", "brown", "residue of film", "smoke stain"),
    ),
    Fault(
        code="not-cut-through",
        name="not cut through",
        front="the part hangs on, or its edge is broken off",
        back="the cut ends inside the sheet",
        synonyms=("incomplete cut", "hangs on", "does not fall out", "shallow cut"),
    ),
    Fault(
        code="wrong-size",
        name="wrong size",
        front="the part or an area measures other than drawn",
        back="the same",
        synonyms=("too small", "too large", "loose fit", "does not fit", "scale", "dimensions"),
    ),
    Fault(
        code="mirrored-word",
        name="a mirrored word",
        front="writing reads backwards",
        back="writing reads right from the back",
        synonyms=("reversed", "backwards", "flipped", "mirror writing", "wrong way round"),
    ),
)
BY_CODE = {fault.code: fault for fault in FAULTS}


def faults_like(words: str) -> tuple[Fault, ...]:
    """The faults that the words may mean, best first; all of them for no words.

    Each word counts where it is, or begins, a word of the code and name (most), of what else people call it, or of
    how it looks.
    """
    wanted = words.casefold().replace("-", " ").split()
    if not wanted:
        return FAULTS
    scored = [(sum(_score(fault, word) for word in wanted), fault) for fault in FAULTS]
    return tuple(fault for score, fault in sorted(scored, key=lambda one: -one[0]) if score > 0)


def fault_named(words: str) -> Fault:
    """The one fault that the words mean. Raises UnreadableError where it is none, or not plain which."""
    code = words.strip().casefold().replace(" ", "-")
    if code in BY_CODE:
        return BY_CODE[code]
    wanted = words.casefold().replace("-", " ").split()
    scored = sorted(((sum(_score(fault, word) for word in wanted), fault) for fault in FAULTS), key=lambda one: -one[0])
    best = [fault for score, fault in scored if score == scored[0][0] and score > 0]
    if len(best) == 1:
        return best[0]
    named = ", ".join(fault.code for fault in (best or FAULTS))
    problem = "may mean more than one thing" if best else "is nothing that is known here"
    raise UnreadableError(f"“{words.strip()}” {problem}.", hint=f"Say one of: {named}.")


def _score(fault: Fault, word: str) -> int:
    """How well one word speaks for a fault."""
    stem = _stem(word)
    places = ((6, f"{fault.code.replace('-', ' ')} {fault.name}"), (4, " ".join(fault.synonyms)),
              (1, f"{fault.front} {fault.back}"))  # fmt: skip
    for score, text in places:
        if len(stem) >= 3 and any(_stem(one).startswith(stem) for one in text.casefold().replace(",", " ").split()):
            return score
    return 0


def _stem(word: str) -> str:
    """Without the endings that tell nothing here."""
    for ending in ("ing", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word.removesuffix(ending)
    return word
