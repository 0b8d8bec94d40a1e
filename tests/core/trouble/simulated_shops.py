"""Shops with one thing wrong each, made by simple physics that knows nothing of the ranking's table.

A world has circumstances (film thickness, wait, warmth, dirt, dose, flatness ...). Normal ones give no fault; one of
them goes wrong, and what then shows, and what loupe, lamp and nail would show, follows from the state. The true cause
is the circumstance that went wrong. Every answer is wrong once in ten.
"""

import math
from dataclasses import dataclass, field, replace

import numpy as np

from core.burning.chance import Chance
from core.trouble.case.case import Case, CutFacts, FillFacts, PaintFacts
from core.trouble.case.noted import Done, Look, Noted

WRONG_ANSWERS = 0.1
SPOT_RADIUS_MM = 0.0685


@dataclass
class World:
    """One shop on one day; seen: the fault; truth: the circumstance that went wrong; state: what a look would find."""

    case: Case
    seen: str
    truth: str
    state: dict[str, bool] = field(default_factory=dict)


def dried(wait_min: float, film_um: float, warmth_c: float) -> float:
    """Share of solvent still in a coat: diffusion time goes with thickness squared, and doubles for 10 K less."""
    tau_min = 7.0 * (film_um / 60) ** 2 * 2 ** ((21 - warmth_c) / 10)
    return math.exp(-wait_min / tau_min)


def painted(rng: np.random.Generator, wrong: str) -> World:
    """A colour that cracks, wrinkles, clouds, flakes or shows through."""
    wait, film, warmth, damp = rng.uniform(17, 40), rng.uniform(45, 75), rng.uniform(17, 25), rng.uniform(30, 60)
    coats, hides, late = int(rng.integers(2, 4)), 2, rng.uniform(30, 110)
    dirt = lint = False
    limit = 120.0 if rng.random() < 0.5 else 0.0
    if wrong == "wait":
        wait = rng.uniform(2, 9)
    elif wrong == "film":
        film = rng.uniform(125, 190)
    elif wrong == "weather":
        warmth, damp = rng.uniform(4, 10), rng.uniform(82, 95)
    elif wrong == "late":
        limit, late = 120.0, rng.uniform(180, 600)
    elif wrong == "dirt":
        dirt = True
    elif wrong == "lint":
        lint = True
    elif wrong == "few":
        coats, hides = 1, 3
    left = dried(wait, film, warmth)
    seen = {"wait": "cracked", "film": "cracked", "weather": "dull", "late": "wrinkled", "dirt": "peeling",
            "lint": "pinholes", "few": "showing-through"}[wrong]  # fmt: skip
    if wrong in ("wait", "film") and left > 0.35 and rng.random() < 0.4:
        seen = "wrinkled"
    state = {
        "lower-soft": left > 0.25,
        "thick-places": film > 100,
        "only-one-colour": wrong != "weather",
        "whitish-wipes": damp > 80,
        "bare-below-flake": dirt,
        "round-craters": dirt and seen == "pinholes",
        "grain-in-paint": lint,
        "light-through": coats < hides,
        "tint-is-neighbour": False,
        "torn-edge": False,
        "glue-feels": False,
    }
    paint = paint_facts(coats=coats, hides_in_coats=hides, recoat_within_min=limit)
    noted = Done(
        between_coats_min=_known(rng, wait, 0.7),
        longest_between_coats_min=_known(rng, late, 0.7),
        wet_film_um=_known(rng, film, 0.5),
        temperature_c=_known(rng, warmth, 0.7),
        humidity_pct=_known(rng, damp, 0.5),
    )
    truth = {"wait": "recoat-too-early", "film": "coat-too-thick", "weather": "cold-or-damp", "late": "recoat-too-late",
             "dirt": "not-clean", "lint": "dust-in-paint", "few": "too-few-coats"}[wrong]  # fmt: skip
    case = Case(known=True, paints=(paint,), fills=(fill_facts(),), masked=True, noted=Noted(done=noted))
    return World(case=case, seen=seen, truth=truth, state=state)


def burned(rng: np.random.Generator, wrong: str) -> World:
    """A fill that shows lines, frosts or clouds; a Gaussian line bares w sqrt(ln(peak/clearing)/2) on each side."""
    pitch, peak, clearing, frosting = 0.0423, 0.29, 0.19, 0.80
    tilt_mm = rng.uniform(0, 0.2)
    if wrong == "pitch":
        pitch = rng.uniform(0.075, 0.1)
    elif wrong == "hot":
        peak = rng.uniform(0.55, 0.9)
    elif wrong == "flat":
        tilt_mm = rng.uniform(2.5, 5)
    offset_mm = rng.uniform(0.06, 0.15) if wrong == "rows" else 0.0
    width = 2 * SPOT_RADIUS_MM * math.sqrt(max(0.0, math.log(peak / clearing)) / 2)
    mean = peak * SPOT_RADIUS_MM * math.sqrt(math.pi / 2) / pitch
    lines = width < pitch
    frosts = mean > frosting
    seen = {"pitch": "scan-lines", "hot": "frosted", "flat": str(rng.choice(["patchy", "scan-lines"])),
            "rows": "scan-lines"}[wrong]  # fmt: skip
    state = {
        "even-ridges": lines,
        "every-second": offset_mm > 0.05,
        "only-some-places": tilt_mm > 1,
        "rough-bare": frosts,
        "coat-left": lines or tilt_mm > 2,
        "cuts-partly": tilt_mm > 1.5,
        "lens-smeared": False,
    }
    spread = 0.25
    leaves, burns = _beyond(pitch / max(width, 1e-6), spread), _beyond(mean / frosting, spread)
    chance = Chance(clean=0.0, not_reached=0.0, leaves_lines=leaves, frosts=burns)
    fill = fill_facts(pitch_mm=pitch, cleared_width_mm=width, line_dose_j_mm2=peak, peak_dose_j_mm2=mean, chance=chance)
    truth = {"pitch": "pitch-too-wide", "hot": "dose-too-high", "flat": "sheet-not-flat", "rows": "rows-off"}[wrong]
    case = Case(known=True, fills=(fill,), paints=(paint_facts(),), both_way_offset_mm=0.0)
    return World(case=case, seen=seen, truth=truth, state=state)


def cut(rng: np.random.Generator, wrong: str) -> World:
    """A part that hangs on or measures wrong; energy per length and thickness decides."""
    speed, thick, lens = rng.uniform(10, 12), 3.0, 1.0
    keeps, scale = bool(rng.random() < 0.3), 1.0
    if wrong == "fast":
        speed = rng.uniform(14.5, 20)
    elif wrong == "thick":
        thick = rng.uniform(3.4, 4)
    elif wrong == "lens":
        lens = rng.uniform(0.5, 0.7)
    elif wrong == "kerf":
        keeps = False
    elif wrong == "scale":
        keeps, scale = True, 72 / 96
    kerf, size = 0.15, 60.0
    off = abs(size * scale - (0 if keeps else kerf) - size)
    through_scrap = 75 * lens / speed >= 5.5
    state = {
        "scrap-cuts": through_scrap,
        "lens-smeared": lens < 0.8,
        "cuts-partly": False,
        "only-some-places": False,
        "off-by-kerf": 0.5 * kerf < off < 2 * kerf,
        "off-in-proportion": scale != 1.0,
    }
    facts = CutFacts(name="Cut", speed_mm_s=speed, power_pct=75, passes=1, usual_speed_mm_s=12, usual_power_pct=75,
                     air="high", keeps_size=keeps)  # fmt: skip
    case = Case(known=True, cuts=(facts,), kerf_mm=kerf, sheet_thickness_mm=3.0 if rng.random() < 0.3 else thick,
                stock_thickness_mm=3.0, units_doubtful=wrong == "scale" and bool(rng.random() < 0.6),
                noted=Noted(done=Done(off_by_mm=_known(rng, off, 0.8))))  # fmt: skip
    truth = {"fast": "cut-too-weak", "thick": "sheet-thicker", "lens": "power-fallen", "kerf": "kerf-not-allowed",
             "scale": "units-mistaken"}[wrong]  # fmt: skip
    seen = "wrong-size" if wrong in ("kerf", "scale") else "not-cut-through"
    return World(case=case, seen=seen, truth=truth, state=state)


def finished(rng: np.random.Generator, wrong: str) -> World:
    """Edges, masks, joints and marks."""
    tape = wrong in ("air",) or (wrong not in ("cement", "stress") and rng.random() < 0.5)
    adhesive = "transfer tape" if tape else "thickened solvent cement"
    joint = "mirror coat" if wrong != "stress" else "clear face"
    verdicts = {("mirror coat", True): "suits", ("mirror coat", False): "avoid", ("clear face", False): "suits",
                ("clear face", True): "test first"}  # fmt: skip
    mask_wait = rng.uniform(5, 25) if wrong == "soft" else rng.uniform(60, 120)
    rest = rng.uniform(0.1, 3) if wrong == "stress" else rng.uniform(13, 48)
    shift_mm = rng.uniform(0.3, 0.6) if wrong == "shift" else 0.02
    state = {
        "print-in-paint": mask_wait < 30,
        "glue-feels": wrong == "glue",
        "under-mask-edge": wrong == "creep",
        "torn-edge": False,
        "one-side-only": shift_mm > 0.1,
        "same-all-round": wrong == "spill",
        "at-glue-only": wrong in ("cement", "air"),
        "air-worms": wrong == "air",
        "whole-edge": False,
        "threads-at-cement": wrong == "stress",
        "lower-soft": False,
        "was-there-before": wrong == "flaw",
        "across-paint": wrong == "rub",
        "front-nail": False,
    }
    truth, seen = {
        "soft": ("mask-on-soft-paint", "mask-ghost"), "glue": ("mask-glue", "mask-ghost"),
        "creep": ("under-the-mask", "bled"), "shift": ("laid-off-datum", "edge-halo"),
        "spill": ("edge-spill", "edge-halo"), "cement": ("cement-on-coat", "joint-blisters"),
        "air": ("air-in-tape", "joint-blisters"), "stress": ("edge-stress", "crazing"),
        "flaw": ("flaw-before", "coat-marks"), "rub": ("handling-marks", "coat-marks"),
    }[wrong]  # fmt: skip
    done = Done(before_mask_min=_known(rng, mask_wait, 0.7), edge_rest_h=_known(rng, rest, 0.6))
    case = Case(
        known=True,
        coat="metal with a paint backing",
        paints=(paint_facts(masked_after=True),),
        fills=(replace(fill_facts(), compensated=wrong != "spill"),),
        joint=joint,
        adhesive=adhesive,
        bond_verdict=verdicts[joint, tape],
        masked=True,
        datum_off_mm=0.4 if shift_mm > 0.1 else 0.05,
        flaws_noted=int(rng.integers(0, 3)),
        flaws_shown=0,
        noted=Noted(done=done),
    )
    return World(case=case, seen=seen, truth=truth, state=state)


KINDS = (
    *((painted, wrong) for wrong in ("wait", "film", "weather", "late", "dirt", "lint", "few")),
    *((burned, wrong) for wrong in ("pitch", "hot", "flat", "rows")),
    *((cut, wrong) for wrong in ("fast", "thick", "lens", "kerf", "scale")),
    *(
        (finished, wrong)
        for wrong in ("soft", "glue", "creep", "shift", "spill", "cement", "air", "stress", "flaw", "rub")
    ),
)


def worlds(count: int, seed: int) -> list[World]:
    """So many shops, every kind in turn."""
    rng = np.random.default_rng(seed)
    return [make(rng, wrong) for make, wrong in (KINDS[number % len(KINDS)] for number in range(count))]


def looked(world: World, codes: list[str], rng: np.random.Generator) -> Case:
    """The case with these looks answered, each wrongly once in ten."""
    answers = []
    for code in codes:
        wrong = rng.random() < WRONG_ANSWERS
        answers.append(Look(code=code, yes=world.state.get(code, False) != wrong))
    noted = world.case.noted
    return replace(world.case, noted=replace(noted, looks=(*noted.looks, *answers)))


def paint_facts(**changed) -> PaintFacts:
    """A plain spray paint."""
    usual = {
        "name": "white", "kind": "spray", "light": True, "coats": 2, "hides_in_coats": 2, "backed": False,
        "can_wait_min": 20.0, "wait_min": 20.0, "longest_wait_min": 25.0, "recoat_within_min": 0.0, "late": False,
        "mask_after_min": 60.0, "cure_h": 12.0, "wet_film_um": 67.0, "weak": False,
    }  # fmt: skip
    return PaintFacts(**{**usual, **changed})


def fill_facts(**changed) -> FillFacts:
    """The starting recipe on mirrored acrylic."""
    usual = {
        "name": "Fill", "pitch_mm": 0.0423, "cleared_width_mm": 0.0633, "peak_dose_j_mm2": 0.6,
        "frosting_dose_j_mm2": 0.8, "line_dose_j_mm2": 0.29, "clearing_dose_j_mm2": 0.19, "focus_mm": 0.0,
        "compensated": False, "measured": False,
        "chance": Chance(clean=0.83, leaves_lines=0.1, frosts=0.07, not_reached=0.0),
    }  # fmt: skip
    return FillFacts(**{**usual, **changed})


def _known(rng: np.random.Generator, value: float, share: float) -> float | None:
    """The value with a reading error, or None where nobody noted it."""
    return None if rng.random() > share else max(0.0, float(value * rng.normal(1, 0.05)))


def _beyond(ratio: float, spread: float) -> float:
    """Chance that a figure of that ratio to its limit, with that relative spread, lies beyond it."""
    return 0.5 * (1 + math.erf(math.log(max(ratio, 1e-9)) / spread / math.sqrt(2)))
