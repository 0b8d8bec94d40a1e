"""The cautions: what is true before files go out, and what is seen at the machine and ticked there on the run sheet.

They remind; they replace nothing. Each leaves the last word to the machine's manual, local codes and licensed practice.
"""

from core.job.job import Job
from core.job.plan import Caution
from core.sheet.faces import turned_corner

LAST_WORD = (
    "The machine's manual, local codes and licensed practice come first "
    "(laser safety: IEC 60825-1, ANSI Z136.1; machines: ISO 11553)."
)

_ALWAYS = {
    "film": "Film and coat are checked on both sides: no cut, no scratch that would show. "
    "The sheet maker's handling advice comes first.",
    "scrap": "These settings are proven on a scrap of this very sheet; they are starting points, "
    "and the machine's manual sets the limits.",
    "focus": "The focus is set on the back coat, in the way the machine's manual says.",
    "air-and-extraction": "Air is set as each layer asks and the extraction runs, as the machine's manual and local "
    "codes ask: burned plastic gives off fumes that must not be breathed.",
    "never-unattended": "Somebody stays with the machine until it has stopped, as its manual and local fire codes ask.",
    "extinguisher": "A fire extinguisher fit for the machine and the sheet is at hand, as local fire codes ask.",
    "enclosure": "Covers are shut and interlocks work: eye and skin protection as the machine's manual and licensed "
    "laser-safety practice ask (IEC 60825-1, ANSI Z136.1).",
}

RUN_SHEET_GOES_ALONG = "run-sheet-goes-along"
_GOES_ALONG = (
    "The run sheet goes to the machine with the files: what is seen there is ticked on it by hand, before anything is "
    "burned, none of it from memory."
)
AT_THE_MACHINE = frozenset(
    {
        "back-up",
        "right-face",
        "film",
        "focus",
        "air-and-extraction",
        "never-unattended",
        "extinguisher",
        "enclosure",
        "paint-back-fill",
        "glass-chips",
        "paint-cured",
        "paint-fumes",
        "fire-watch",
    }
)
"""What nobody can know at a desk: its boxes are empty on every run sheet. All others are ticked before files go out."""

STOCK_CAUTIONS = {
    "reflection": "A metal coat throws the beam back: burn it only as the machine's maker allows.",
    "solvent-on-coat": "Solvent cements attack a mirror coat: test on a scrap, ventilate, and follow the cement's "
    "safety data sheet and local codes.",
    "paint-back-fill": "Spray paint: ventilate well, no flame or spark near; the can's safety data sheet and local "
    "codes come first.",
    "glass-chips": "Marked glass sheds chips and can break from heat: eye protection and gloves, as licensed practice "
    "asks.",
    "glass-not-cut": "Glass must not be cut by the laser; have it cut by licensed practice.",
    "unknown-plastic": "What plastic and what film this is must be known before it is burned: ask its maker for the "
    "safety data sheet.",
    "unknown-paint": "What paint the coat is must be known before it is burned: old or industrial paints can hold lead "
    "or chlorine. Its safety data sheet and local codes come first.",
    "chlorine": "Chlorinated plastic (PVC, vinyl) gives off hydrogen chloride, which poisons people and eats the "
    "machine: never burn it, whatever a machine's manual allows.",
}
"""What a stock's ``caution_codes`` stand for; "paint-back-fill" is added by itself where there is a coat."""


BURN_LATER_CAUTIONS = {
    "paint-cured": "Paint is burned through only when it has fully cured, all solvent gone, as the can and its safety "
    "data sheet say.",
    "paint-known": "Maker and binder of every paint that is burned through are known and its safety data sheet is "
    "read: nothing chlorinated, nothing unknown, whatever a machine's manual allows.",
    "paint-fumes": "Burned paint gives off fumes of its own: extraction runs and is fit for them, as the safety data "
    "sheet and local codes ask.",
    "fire-watch": "Somebody watches for fire through the whole burn and after it, as local fire codes ask: paint burns "
    "more easily than the coat.",
}
"""Added where a colour is burned later, through paint."""


def cautions_for(job: Job) -> tuple[Caution, ...]:
    """What is to be ticked: first what is true before files go out, then what is seen at the machine."""
    bed, front = job.stop_corner, turned_corner(job.stop_corner, job.turn)
    lines = {
        "back-up": "The sheet lies coated back up, shiny front down, as the machine's manual lets it be held.",
        "right-face": f"The face is right: turned over {job.turn}, the {front} corner of the front lies {bed} on the "
        "bed, at the machine's stop, where its manual puts the start.",
        **_ALWAYS,
    }
    codes = (*job.stock.caution_codes, "paint-back-fill") if job.stock.coat else job.stock.caution_codes
    lines |= {code: STOCK_CAUTIONS[code] for code in codes if code in STOCK_CAUTIONS}
    if any(way == "burn" for _, way in job.finishing.ways):
        lines |= BURN_LATER_CAUTIONS
    lines[RUN_SHEET_GOES_ALONG] = _GOES_ALONG
    found = [Caution(code=code, message=told, at_machine=code in AT_THE_MACHINE) for code, told in lines.items()]
    return tuple(sorted(found, key=lambda one: one.at_machine))


def missing_ticks(job: Job) -> tuple[Caution, ...]:
    """The cautions that must be ticked before files go out and are not yet."""
    ticked = job.cautions_ticked
    return tuple(one for one in cautions_for(job) if not one.at_machine and one.code not in ticked)
