"""What leads when a fill is judged: what does not come out, then the verdict with its chance in one line."""

from dataclasses import dataclass

from core.burning.beam import FillVerdict, Verdict
from core.burning.chance import Chance, in_hundred
from core.burning.coverage import Coverage
from core.sheet.stock import Stock

VERDICTS: dict[Verdict, str] = {
    "clean": "Comes off clean",
    "leaves lines": "Leaves lines of coat",
    "frosts": "Frosts the sheet behind the coat",
    "not reached": "Does not reach the coat",
}


TONES_LEFT_OVER_PCT = 4.0
"""Of what tones want bared: about two parts in a hundred of a picture of middling tones; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """The line that leads. comes_out: clean at the best figures, all of it; good: and as surely as wanted."""

    words: str
    comes_out: bool
    good: bool


def headline(
    verdict: FillVerdict,
    chance: Chance | None,
    coverage: Coverage | None,
    *,
    area_mm2: float,
    stock: Stock,
    wanted: float,
) -> Headline:
    """The headline of a fill. coverage: None while it is not known; area_mm2: of the fill.

    "Clean" never leads a job of which features are lost, or more is left over than the stock's limit, and a chance
    below what is wanted stands in the same line as the verdict.
    """
    lost = coverage.lost_features if coverage is not None else 0
    left_pct = 100 * coverage.left_over_mm2 / area_mm2 if coverage is not None and area_mm2 else 0.0
    told = "" if chance is None else f"{chance.good_word} {in_hundred(chance.clean)} in 100"
    if verdict.verdict != "clean":
        where = " in the darkest tones" if verdict.of_tones and verdict.verdict == "leaves lines" else ""
        words = f"{VERDICTS[verdict.verdict]}{where}{f'; {told}' if told else ''}"
        return Headline(words=words, comes_out=False, good=False)
    missing = []
    if lost:
        missing.append(f"{lost} feature{'s are' if lost > 1 else ' is'} lost{_by_start(coverage)}")
    if left_pct > max(stock.left_over_limit_pct, TONES_LEFT_OVER_PCT if verdict.of_tones else 0.0):
        of = "what the tones want bared" if verdict.of_tones else "the coat"
        missing.append(f"{left_pct:.2g} % of {of} stays")
    if missing:
        words = f"Does not all come out: {' and '.join(missing)}{f'; elsewhere {told}' if told else ''}"
        return Headline(words=words, comes_out=False, good=False)
    if chance is not None and chance.clean < wanted:
        good = "Tones held" if verdict.of_tones else "Clean"
        words = f"{good} at the best figures, but only {in_hundred(chance.clean)} in 100 ({in_hundred(wanted)} wanted)"
        return Headline(words=words, comes_out=True, good=False)
    sure = f": {in_hundred(chance.clean)} in 100" if chance is not None else ""
    good = "Holds its tones" if verdict.of_tones else VERDICTS["clean"]
    return Headline(words=f"{good}{sure}", comes_out=True, good=True)


def _by_start(coverage: Coverage | None) -> str:
    """How much of that hangs on where the rows begin."""
    if coverage is None or not coverage.hairlines or coverage.hits_all_share == 1.0:
        return ""
    return f" (rows hit every hairline in {in_hundred(coverage.hits_all_share)} of 100 places to begin)"
