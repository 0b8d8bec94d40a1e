"""The proof: what a customer looks at and signs before anything is burned. PDF, and the same pages as a picture."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from core.artwork.picture_decisions import BARED_LOOKS, BaredIs
from core.errors import JobError
from core.finishing.paints import colour_name
from core.finishing.steps import PaintPlan, front_view
from core.geometry.affine import IDENTITY
from core.job.burned import finished_region
from core.job.job import Job
from core.job.letterhead import Letterhead
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.order.parts import OrderedPart
from core.order.working_out import FilledOrder
from core.output.orders.pages import MOST_OF_A_NAME, Words, check_words, paged
from core.output.orders.part_plans import part_plan
from core.output.run_sheet.fonts import fonts_for
from core.output.run_sheet.looks import WIDTH, Style, text, tight_cells
from core.output.run_sheet.pictures import Picture

_NAME_PT = 15.0
_TRUE_HIGH = A4[1] - 70 * mm
"""What is no higher is shown in true size; the rest of the page has then to come on the next."""
_SCALED_HIGH = 300.0
_COAT, _BARE = "#d5d9de", "#ffffff"
_COAT_LIT = "#43484e"
"""Coat with light behind it, of a screened picture that is light where it is bared."""
MOST_PICTURE_PAGES = 20
_DOTS_AN_INCH = 144


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a proof shows: one or more pieces with a caption each, and everything that has to be read."""

    name: str
    pieces: tuple[tuple[str, Plan], ...]
    lines: tuple[tuple[str, str], ...]
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """The coat's colour, that of bared sheet, and what the customer is told of both."""

    coat: str = _COAT
    bare: str = _BARE
    coat_words: str = "stays as it is"
    bare_words: str = "clear: the sheet without its coat, light passes"


_PLAIN = Looks()
_SCREENED: dict[BaredIs, Looks] = {
    "light": Looks(coat=_COAT_LIT, coat_words="stays as it is, shown with light behind it"),
    "dark": Looks(bare=BARED_LOOKS["dark"], bare_words="clear: the sheet without its coat, before a dark ground"),
    "paint": Looks(bare=BARED_LOOKS["paint"], bare_words="clear: the sheet without its coat, shown as painted dark"),
}


def looks_of(plan: Plan) -> Looks:
    """How coat and bared sheet are shown: of a screened picture as its maker said, else its tones read wrongly."""
    if all(layer.screen is None for layer in plan.layers):
        return _PLAIN
    return _SCREENED[plan.job.reading.picture.bared_is or "dark"]


def shown_job(plan: Plan) -> Shown:
    """A job's proof: the piece, and the texts that its artwork holds."""
    texts = [shape.label for shape in plan.drawing.shapes if shape.is_text and shape.label]
    lines = tuple(("", words) for words in dict.fromkeys(texts))
    name = plan.job.source.name if plan.job.source else "Job"
    return Shown(name=name, pieces=(("", plan),), lines=lines, quantity=len(plan.copies_to_front))


def shown_order(filled: FilledOrder) -> Shown:
    """An order's proof: its first part and, where that is another, the one with the longest text; all names."""
    first = filled.parts[0]
    longest = max(filled.parts, key=lambda one: (max((len(value) for _, value in one.values), default=0), -one.number))
    chosen = [first] if longest.number == first.number else [first, longest]
    source = filled.order.design.source
    return Shown(
        name=source.name if source else "Order",
        pieces=tuple((f"No. {one.number}", part_plan(filled, one.number)) for one in chosen),
        lines=tuple((str(one.number), _words(one)) for one in filled.parts),
        quantity=len(filled.parts),
    )


def _words(one: OrderedPart) -> str:
    return "   ".join(value for _, value in one.values if value)


def proof(shown: Shown, letterhead: Letterhead, *, customer: str = "") -> bytes:
    """The PDF's bytes; the same inputs give the same bytes. Raises UnreadableError for a customer's name too long."""
    check_words(customer, "The customer's name", MOST_OF_A_NAME)
    plan = shown.pieces[0][1]
    fonts = fonts_for("".join([shown.name, customer, plan.job.stock.name, *letterhead.lines]))
    style = Style(fonts)
    paintings = [paint_plan(one) for _, one in shown.pieces]
    story: list[Flowable] = [*page_head("Proof", letterhead, customer, style)]
    for (caption, piece), painting in zip(shown.pieces, paintings, strict=True):
        story += _piece(caption, piece, painting, style)
    story += [_facts(shown, plan, style), _colours(plan, paintings, style)]
    story += _names(shown, style)
    story += _differs(style)
    story += [_signature(style)]
    return paged(story, title=f"Proof: {shown.name}", foot=shown.name, fonts=fonts)


def as_picture(pdf: bytes) -> bytes:
    """All pages of a PDF below each other as PNG. Raises JobError where that makes no picture."""
    import pypdfium2
    from PIL import Image

    document = pypdfium2.PdfDocument(pdf)
    try:
        if len(document) > MOST_PICTURE_PAGES:
            raise JobError(f"{len(document)} pages make no picture.", hint="Write a PDF.")
        pages = [document[index].render(scale=_DOTS_AN_INCH / 72).to_pil() for index in range(len(document))]
    finally:
        document.close()
    whole = Image.new("RGB", (max(page.width for page in pages), sum(page.height for page in pages)), "white")
    top = 0
    for page in pages:
        whole.paste(page, (0, top))
        top += page.height
    buffer = io.BytesIO()
    whole.save(buffer, "PNG", dpi=(_DOTS_AN_INCH, _DOTS_AN_INCH))
    return buffer.getvalue()


class FrontPicture(Picture):
    """The finished piece from the front in its colours, true to size where there is room."""

    def __init__(self, plan: Plan, painting: PaintPlan) -> None:
        self._piece = finished_region(plan.layers)
        areas = [look.region for look in front_view(painting.colouring) if look.kind != "coat"]
        bounds = tuple(float(side) for side in shapely.total_bounds([self._piece, *areas]))
        wide, high = (bounds[2] - bounds[0]) * mm, (bounds[3] - bounds[1]) * mm
        fits = wide <= WIDTH and high <= _TRUE_HIGH
        room = (wide, high) if fits else (min(WIDTH, wide), min(_SCALED_HIGH, high))
        super().__init__((bounds[0], bounds[1], bounds[2], bounds[3]), *room)
        self._plan, self._painting = plan, painting

    @property
    def scale_words(self) -> str:
        """``"true size"``, ``"1 : 2.5"``."""
        share = self.scale / mm
        return "true size" if share > 0.9995 else f"scale 1 : {1 / share:.3g}"

    def draw(self) -> None:
        """Draw on the page."""
        looks = looks_of(self._plan)
        self.region(self._piece, fill=looks.coat)
        for look in front_view(self._painting.colouring):
            if look.kind != "coat":
                self.region(look.region, fill=look.colour if look.kind == "paint" else looks.bare)
        for layer in self._plan.layers:
            self.standing_coat(layer, IDENTITY, looks.coat)
        scores = [path for layer in self._plan.layers if layer.layer.purpose == "score" for path in layer.paths]
        if scores:
            self.lines(scores, (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), width=0.5)
        self.region(self._piece, line=0.3, width=0.6)


class Swatch(Flowable):  # type: ignore[misc]  # the library has no types
    """A field of colour."""

    def __init__(self, colour: str) -> None:
        super().__init__()
        self._colour = colour
        self.width, self.height = 34.0, 14.0

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        self.canv.setFillColor(self._colour)
        self.canv.setStrokeGray(0.3)
        self.canv.setLineWidth(0.5)
        self.canv.rect(0, 0, self.width, self.height, fill=1, stroke=1)


def page_head(title: str, letterhead: Letterhead, customer: str, style: Style) -> list[Flowable]:
    """The head of a page for a customer: what it is and for whom, and the shop's own name and address."""
    left: list[Any] = [text(title, style.title)]
    if customer:
        left.append(text(f"for {customer}", style.side))
    right = [text(line, style.strong_number if at == 0 else style.number) for at, line in enumerate(letterhead.lines)]
    look = [*tight_cells(), ("VALIGN", (0, 0), (-1, -1), "TOP")]
    return [Table([[left, right or ""]], colWidths=[WIDTH * 0.5] * 2, style=look), Spacer(0, 5 * mm)]


def _piece(caption: str, plan: Plan, painting: PaintPlan, style: Style) -> list[Flowable]:
    picture = FrontPicture(plan, painting)
    words = ", ".join(filter(None, (caption, "as seen from the front", picture.scale_words)))
    words = words[0].upper() + words[1:]
    return [KeepTogether([text(words, style.strong), Spacer(0, 2 * mm), picture, Spacer(0, 5 * mm)])]


def material_words(job: Job) -> str:
    """Stock and thickness, the latter once: many stocks are called by it."""
    thickness = f"{job.sheet.thickness_mm:g} mm"
    return job.stock.name if thickness in job.stock.name else f"{job.stock.name}, {thickness}"


def _facts(shown: Shown, plan: Plan, style: Style) -> Flowable:
    x0, y0, x1, y1 = finished_region(plan.layers).bounds
    many = f"{shown.quantity} pieces" if shown.quantity > 1 else "1 piece"
    rows = [
        ("Size", f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"),
        ("Material", material_words(plan.job)),
        ("Quantity", many),
    ]
    cells = [[text(name, style.small), text(words, style.strong)] for name, words in rows]
    return Table(cells, colWidths=[80, WIDTH - 80], style=tight_cells(1))


def _colours(plan: Plan, paintings: Sequence[PaintPlan], style: Style) -> Flowable:
    """Each look once: in words and as a field of colour."""
    rows: dict[str, tuple[str, str]] = {}
    shown = looks_of(plan)
    for painting in paintings:
        for look in front_view(painting.colouring):
            if look.kind == "coat":
                rows["coat"] = (shown.coat, f"{plan.job.stock.coat or 'the sheet'}: {shown.coat_words}")
            elif look.kind == "bare":
                rows["bare"] = (shown.bare, shown.bare_words)
            elif look.colour is not None:
                word = colour_name(look.colour)
                rows[look.name] = (look.colour, look.name if word in look.name else f"{look.name} ({word})")
    cells = [[Swatch(colour), text(words, style.text)] for colour, words in rows.values()]
    if not cells:
        return Spacer(0, 0)
    look_of_cells = [*tight_cells(2), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    return KeepTogether([text("Colours", style.head), Table(cells, colWidths=[48, WIDTH - 48], style=look_of_cells)])


def _names(shown: Shown, style: Style) -> list[Flowable]:
    if not shown.lines:
        return []
    cells = [
        [text(number, style.number), Words(words or "(empty)", _NAME_PT, WIDTH - 44)] for number, words in shown.lines
    ]
    look = [*tight_cells(2.5), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("LINEBELOW", (0, 0), (-1, -1), 0.25, "#999999")]
    return [
        text("Please check every letter", style.head),
        text("This is what will be burned, in this spelling and order.", style.text),
        Spacer(0, 2 * mm),
        Table(cells, colWidths=[32, WIDTH - 32], style=look),
    ]


def _differs(style: Style) -> list[Flowable]:
    words = (
        "Colours on a screen and on paper differ from paint behind a clear sheet, and from screen to screen.",
        "The tone of the coat differs a little from one delivery of the sheet to the next.",
        "A piece may be up to the width of a cut larger or smaller than drawn.",
    )
    return [KeepTogether([text("What may differ", style.head), *(text(f"– {line}", style.text) for line in words)])]


def _signature(style: Style) -> Flowable:
    line = "_" * 34
    cells = [
        [text(line, style.text), text(line, style.text)],
        [text("place and date", style.small), text("checked and agreed: name, signature", style.small)],
    ]
    return KeepTogether([Spacer(0, 14 * mm), Table(cells, colWidths=[WIDTH / 2] * 2, style=tight_cells(1))])
