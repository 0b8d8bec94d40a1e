"""What the paint of a shape says: areas, strokes that are areas, white, and what paints nothing."""

from core.artwork.drawing import Shape, SortOptions
from core.artwork.dxf.kinds import ANNOTATIONS
from core.artwork.paint_order import WhitePaint
from core.artwork.sorting.by_words import by_words
from core.artwork.sorting.verdict import Verdict, ask, is_wide_line, width_text


def by_paint(
    index: int, shape: Shape, has_area: bool, white: WhitePaint, options: SortOptions, *, on_ground: bool
) -> Verdict | None:
    """The purpose that paint and names decide; None for thin lines that neither settles.

    on_ground: it is the white inside of a darker line and lies on no darker paint.
    """
    if index in white.paper:
        return Verdict("guide", "White, as large as the page and under everything: taken for the paper.")
    if index in white.unseen:
        return Verdict("guide", "White on white paper: it can't be seen.")
    if index in white.over_dark and options.white_keeps is not False:
        return Verdict("guide", "White over darker paint: the coat is kept there.")
    if on_ground:
        return Verdict("guide", "The white inside of a darker line: the ground, not paint.")
    nothing = _nothing(shape, has_area, options.line_width_mm)
    if nothing is not None:
        return Verdict("guide", nothing)
    if shape.kind.split("+")[0] in ANNOTATIONS:
        return Verdict("guide", "A dimension or a note: it speaks about the piece.")
    is_wide = is_wide_line(shape, options.line_width_mm)
    said = by_words(shape, is_area=has_area and not is_wide, is_wide=is_wide)
    if said is not None:
        return said
    if has_area:
        return Verdict("fill", _area(shape, options.line_width_mm))
    if shape.zero_width:
        return ask(
            "A stroke of width 0: nothing by the standard, a hairline as many programs mean it. To cut, to score, or "
            "to leave out?"
        )
    return None


def _nothing(shape: Shape, has_area: bool, line_width_mm: float) -> str | None:
    """Why there is nothing to burn of it, if so."""
    stroke = shape.stroke
    if has_area:
        return None
    wide = stroke is not None and stroke.width_mm > line_width_mm
    if shape.clip is not None and (shape.fill is not None or wide or shape.clip.is_empty):
        return "Its clip hides all of it."
    if stroke is None and shape.fill is not None:
        return "A fill without area: nothing to burn."
    if stroke is None:
        return "Not painted: nothing to burn."
    return None if len(shape.path) else "An empty line: nothing to burn."


def _area(shape: Shape, line_width_mm: float) -> str:
    stroke, limit = shape.stroke, f"{line_width_mm:g} mm"
    wide = stroke is not None and stroke.width_mm > line_width_mm
    if shape.area is not None:
        return "A painted area."
    if shape.fill is not None and wide:
        return f"A filled area with a stroke {width_text(shape)} wide, over the line limit of {limit}."
    if shape.fill is not None:
        return "A filled area."
    return f"A stroke {width_text(shape)} wide, over the line limit of {limit}: an area."
