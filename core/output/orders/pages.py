"""Pages of an order: names as outlines, so that every script is set as it will be burned; A4 with a numbered foot."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from core.artwork.fonts.bidi import visual_runs
from core.artwork.fonts.catalogue import find_face
from core.artwork.fonts.outlines import FontAsked, outline_text, shape_text
from core.errors import UnreadableError
from core.geometry.path import CUBIC, LINE, Path
from core.output.run_sheet.fonts import BUILT_IN_ENCODING, Fonts, registered
from core.output.run_sheet.looks import MARGIN, WIDTH
from core.output.run_sheet.numbered import NumberedCanvas

_FAMILY = "sans-serif"
_PITCH = 1.25
_LEAST_SCALE = 0.8
_UNSEEN = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """Words of one line, and by how much they are made smaller."""

    words: str
    width: float
    scale: float


MOST_OF_A_NAME, MOST_OF_A_NUMBER, MOST_OF_A_TEXT = 200, 80, 1000
"""Letters that still fit on a page beside the rest."""


def check_words(words: str, what: str, most: int) -> None:
    """Raises UnreadableError where words that people typed are too long for a page."""
    if len(words) > most:
        raise UnreadableError(f"{what} is {len(words)} letters long.", hint=f"At most {most} fit on the page.")


class Words(Flowable):  # type: ignore[misc]  # the library has no types
    """Words as outlines, shaped as in artwork; broken into lines where they are much longer than ``width`` points, made
    a little smaller where they are a little longer. What they say lies below them as text that is found, not seen."""

    def __init__(self, words: str, size: float, width: float) -> None:
        super().__init__()
        self._lines = _lines(words, size, width)
        self._size = size
        self.width = max((line.width for line in self._lines), default=0.0)
        self.height = size * _PITCH * max(1, len(self._lines))

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        for number, line in enumerate(self._lines, start=1):
            baseline = self._size * (_PITCH * (len(self._lines) - number) + 0.3)
            self._say(line, baseline)
            drawn = self.canv.beginPath()
            self.canv.saveState()
            self.canv.translate(0, baseline)
            self.canv.scale(line.scale, -line.scale)
            path, _, _ = outline_text(line.words, family=_FAMILY, size_mm=self._size)
            for subpath in path.subpaths():
                _trace(drawn, subpath)
            self.canv.setFillGray(0.0)
            self.canv.drawPath(drawn, fill=1, stroke=0, fillMode=1)
            self.canv.restoreState()

    def _say(self, line: _Line, baseline: float) -> None:
        font = _font_of(line.words)
        size = self._size * line.scale
        own = self.canv.stringWidth(line.words, font, size)
        said = self.canv.beginText(0, baseline)
        said.setFont(font, size)
        said.setTextRenderMode(_UNSEEN)
        if own > 0:
            said.setHorizScale(100 * line.width / own)
        said.textOut(_as_seen(line.words))
        said.setHorizScale(100)
        said.setTextRenderMode(0)
        self.canv.drawText(said)


def _lines(words: str, size: float, width: float) -> list[_Line]:
    whole = _line(words, size, width)
    parts = words.split()
    if whole.scale >= _LEAST_SCALE or len(parts) < 2:
        return [whole] if parts else []
    lines, taken = [], parts[0]
    for part in parts[1:]:
        if _line(f"{taken} {part}", size, width).scale < 1.0:
            lines.append(_line(taken, size, width))
            taken = part
        else:
            taken = f"{taken} {part}"
    return [*lines, _line(taken, size, width)]


def _line(words: str, size: float, width: float) -> _Line:
    advance = size * _advance_em(words)
    scale = min(1.0, width / advance) if advance > 0 else 1.0
    return _Line(words=words, width=min(advance, width), scale=scale)


@lru_cache(maxsize=4096)
def _advance_em(words: str) -> float:
    """How long words are, in their size: outlined only once it is known where their lines break."""
    glyphs, _ = shape_text(words, FontAsked(families=(_FAMILY,)))
    return sum(glyph.advance_em for glyph in glyphs)


def _as_seen(words: str) -> str:
    """From left to right, as the letters stand on the page."""
    runs = visual_runs(words, right_to_left=False)
    return "".join(words[start:stop][:: -1 if level % 2 else 1] for start, stop, level in runs)


def _font_of(words: str) -> str:
    """A font for text that is not seen: only which letters it is counts."""
    if words.encode(BUILT_IN_ENCODING, "ignore").decode(BUILT_IN_ENCODING) == words:
        return "Helvetica"
    face = find_face(_FAMILY)
    return registered(face) if face is not None and not face.index else "Helvetica"


def _trace(drawn: object, path: Path) -> None:
    x, y = path.start_points[0].tolist()
    drawn.moveTo(x, y)  # type: ignore[attr-defined]
    for kind, row in zip(path.kinds.tolist(), path.segments.tolist(), strict=True):
        if kind == CUBIC:
            drawn.curveTo(*row[2:8])  # type: ignore[attr-defined]
        elif kind == LINE:
            drawn.lineTo(*row[2:4])  # type: ignore[attr-defined]
    drawn.close()  # type: ignore[attr-defined]


def paged(story: Sequence[Flowable], *, title: str, foot: str, fonts: Fonts, signed: str = "") -> bytes:
    """The PDF's bytes; the same story gives the same bytes."""
    buffer = io.BytesIO()
    document = BaseDocTemplate(buffer, pagesize=A4, title=title, author="Tain", invariant=1)
    no_padding = {f"{side}Padding": 0 for side in ("left", "right", "top", "bottom")}
    frame = Frame(MARGIN, 14 * mm, WIDTH, A4[1] - 25 * mm, **no_padding)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    document.build(list(story), canvasmaker=partial(NumberedCanvas, foot=foot, font=fonts.regular, signed=signed))
    return buffer.getvalue()
