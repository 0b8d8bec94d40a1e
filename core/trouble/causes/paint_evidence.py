"""What coats, waits, films and weather of a job say about causes that lie in the paint.

Steps without a source are common practice; each says so where it is shown.
"""

from core.trouble.case.case import Case, PaintFacts
from core.trouble.causes.cause import CAN, Evidence, evidence

LEAST_SPRAY_WAIT_MIN = 15.0
"""Common practice, no source: 15 to 20 min between light spray coats."""
THICK_COAT_UM, THICK_FILM_UM = 90.0, 230.0
"""Wet film of one coat, and of all, from which a coat is taken to be thick. Common practice, no source."""
COLD_C, DAMP_PCT = 12.0, 80.0
"""Below this temperature, and above this humidity, paint is taken to dry badly. Common practice, no source."""


def _named(paint: PaintFacts, words: str) -> str:
    return f"{paint.name}: {words}"


def _shortest(case: Case) -> tuple[PaintFacts, float] | None:
    """The paint whose wait between coats is shortest beside what its can asks, and that wait, as noted or planned."""
    several = [paint for paint in case.paints_meant if paint.coats > 1 and paint.kind != "film"]
    noted = case.noted.value("between_coats_min")
    waits = [(paint, _first(noted, paint.ticked_wait_min, paint.wait_min)) for paint in several]
    known = [(paint, wait) for paint, wait in waits if wait is not None]
    return min(known, key=lambda one: one[1] - one[0].can_wait_min) if known else None


def wait_too_short(case: Case) -> Evidence | None:
    """The wait that was, or is planned, beside the can's and beside common practice."""
    noted = case.noted.value("between_coats_min")
    found = _shortest(case)
    if found is None:
        if noted is None:
            return None
        short = noted < LEAST_SPRAY_WAIT_MIN
        return evidence(
            f"{noted:g} min between coats were noted; 15 to 20 are usual for light spray coats", 1 if short else -1
        )
    paint, wait = found
    source = CAN if paint.known else "common practice, no source"
    told = _told(noted, paint.ticked_wait_min)
    real = noted is not None or paint.ticked_wait_min is not None
    words = _named(paint, f"{wait:g} min between coats {told}, {paint.can_wait_min:g} asked")
    if wait < 0.75 * paint.can_wait_min:
        return evidence(words, 2, source)
    if wait < paint.can_wait_min:
        return evidence(words, 1, source)
    if paint.kind == "spray" and wait < LEAST_SPRAY_WAIT_MIN:
        return evidence(f"{words}; 15 to 20 are usual for light spray coats", 1)
    return evidence(words, -2 if real else -1, source)


def _first(*values: float | None) -> float | None:
    """The first that is known: noted by hand before ticked off before planned."""
    return next((value for value in values if value is not None), None)


def _told(noted: float | None, ticked: float | None) -> str:
    return "were noted" if noted is not None else "were ticked off" if ticked is not None else "are planned"


def wait_too_long(case: Case) -> Evidence | None:
    """The longest wait beside the latest that the can allows."""
    noted = case.noted.value("longest_between_coats_min")
    for paint in sorted(case.paints_meant, key=lambda one: not one.late):
        wait = _first(noted, paint.ticked_longest_min, paint.longest_wait_min)
        if wait is None or paint.coats < 2:
            continue
        if not paint.recoat_within_min:
            return (
                evidence(_named(paint, f"up to {wait:g} min between coats; the can names no limit"), -1, CAN)
                if (wait < 24 * 60)
                else None
            )
        words = _named(paint, f"up to {wait:g} min between coats, no later than {paint.recoat_within_min:g} allowed")
        return evidence(words, 2 if wait > paint.recoat_within_min else -2, CAN)
    return None


def film_thick(case: Case) -> Evidence | None:
    """Wet film of one coat and of all coats, as gauged or from the spreading rate."""
    gauged = case.noted.value("wet_film_um")
    coats_noted = case.noted.value("coats")
    found: list[tuple[float, str]] = []
    for paint in case.paints_meant:
        if paint.kind == "film" or not (paint.wet_film_um or gauged):
            continue
        one = gauged if gauged is not None else paint.wet_film_um
        coats = coats_noted if coats_noted is not None else paint.coats
        found.append((one, _named(paint, f"about {one:.0f} µm wet a coat, {one * coats:.0f} µm in {coats:g} coats")))
    if not found:
        if gauged is None:
            return None
        found = [(gauged, f"{gauged:.0f} µm wet a coat were gauged")]
    one, words = max(found)
    how = "gauged" if gauged is not None else "from its spreading rate"
    if one > THICK_COAT_UM:
        return evidence(f"{words} ({how}); light coats stay below about {THICK_COAT_UM:.0f}", 2 if gauged else 1)
    total = (
        max(one * (coats_noted if coats_noted is not None else paint.coats) for paint in case.paints_meant)
        if (case.paints_meant)
        else one
    )
    if total > THICK_FILM_UM:
        return evidence(f"{words} ({how}); that is much in all", 1)
    return evidence(f"{words} ({how})", -2 if gauged is not None else -1)


def light_pigment(case: Case) -> Evidence | None:
    """Light paints are put on thicker, as they hide less."""
    light = [paint for paint in case.paints_meant if paint.light and paint.kind != "film"]
    if light and case.noted.paint:
        words = _named(light[0], f"a light paint, {light[0].hides_in_coats} coats to hide: it is easily laid on thick")
        return evidence(words, 1)
    return None


def weather(case: Case) -> Evidence | None:
    """Temperature and humidity as noted."""
    cold, damp = case.noted.value("temperature_c"), case.noted.value("humidity_pct")
    if cold is None and damp is None:
        return None
    told = [f"{cold:g} °C" if cold is not None else "", f"{damp:g} % humidity" if damp is not None else ""]
    words = (
        f"{' and '.join(filter(None, told))} noted; paint dries badly below about {COLD_C:g} °C or above {DAMP_PCT:g} %"
    )
    bad = (cold is not None and cold < COLD_C) + (damp is not None and damp > DAMP_PCT)
    return evidence(words, 2 if bad else -2)


def weather_slows(case: Case) -> Evidence | None:
    """Cold or damp air lengthens every wait."""
    found = weather(case)
    return evidence(f"{found.words}, which lengthens every wait", 1) if found is not None and found.weight > 0 else None


def coats_few(case: Case) -> Evidence | None:
    """Coats put on beside coats that hide."""
    noted = case.noted.value("coats")
    found = []
    for paint in case.paints_meant:
        if paint.kind == "film":
            continue
        ticked = None if paint.ticked_coats is None else float(paint.ticked_coats)
        coats = _first(noted, ticked, float(paint.coats)) or 0.0
        told = "put on" if noted is not None else "ticked off" if ticked is not None else "planned"
        words = _named(paint, f"{coats:g} coats {told}, it hides in {paint.hides_in_coats}")
        lacking = 0 if paint.backed else paint.hides_in_coats - coats
        found.append((lacking, words + (", and has a backing" if paint.backed else "")))
    if not found:
        return None
    lacking, words = max(found)
    return evidence(words, 2 if lacking > 0 else -2)


def darker_behind(case: Case) -> Evidence | None:
    """Whether a darker paint comes to lie behind a weak one."""
    if not case.paints_meant:
        return None
    for paint in case.paints_meant:
        if paint.behind:
            return evidence(_named(paint, f"hides weakly, and {', '.join(paint.behind)} comes to lie behind it"), 2)
    return evidence("no darker paint comes to lie behind one that hides weakly", -2)


def mask_on_soft_paint(case: Case) -> Evidence | None:
    """The wait before the next mask, as noted beside what is asked."""
    noted = case.noted.value("before_mask_min")
    masked = [paint for paint in case.paints_meant if paint.masked_after]
    if noted is None:
        if case.known and case.paints_meant and not masked:
            return evidence("no mask is laid on it after it is painted", -2)
        return None
    asked = max((paint.mask_after_min for paint in masked or case.paints_meant), default=60.0)
    return evidence(f"{noted:g} min before the next mask were noted, {asked:g} asked", 2 if noted < asked else -2)


def masked_at_all(case: Case) -> Evidence | None:
    """Whether any mask is cut."""
    if case.masked is None:
        return None
    if case.masked:
        return evidence("masks keep colours off each other in this job", 1)
    return evidence("no mask is used in this job", -2)


def several_paints(case: Case) -> Evidence | None:
    """Whether one paint comes to lie on another at all."""
    if not case.known:
        return None
    backed = any(paint.backed for paint in case.paints_meant)
    if len(case.paints) < 2 and not backed:
        return evidence("one paint alone is used", -2)
    kinds = {paint.kind for paint in case.paints}
    if len(kinds) > 1:
        return evidence(f"paints of several kinds lie on each other ({', '.join(sorted(kinds))})", 1)
    return None


def rough_ground(case: Case) -> Evidence | None:
    """Frosting under the paint."""
    risky = [fill for fill in case.fills if fill.chance is not None]
    if not risky:
        return None
    worst = max(risky, key=lambda fill: fill.chance.frosts if fill.chance else 0.0)
    assert worst.chance is not None
    share = 100 * worst.chance.frosts
    return evidence(f"{worst.name} frosts in {share:.0f} draws of 100", 1 if share > 20 else -1)
