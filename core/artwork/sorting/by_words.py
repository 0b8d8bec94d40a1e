"""What the names of layers, groups and objects say of a shape, held against how it is drawn."""

from core.artwork.drawing import Shape
from core.artwork.sorting.verdict import Verdict, ask
from core.artwork.sorting.words import Word, words_of
from core.geometry.ends import closed_subpaths


def by_words(shape: Shape, *, is_area: bool, is_wide: bool) -> Verdict | None:
    """What the names settle or contradict; None where they say nothing.

    is_area: it is filled; is_wide: it is a stroke over the line limit. An inner name counts before an outer one, but
    for cutting both have to agree.
    """
    words = tuple(word for word in words_of(_names(shape, is_area=is_area)) if not word.denied)
    if not words:
        return None
    first, called = words[0], f"It is called “{words[0].name[:60]}”"
    if first.said == "guide":
        return Verdict("guide", f"{called}: to look at only.")
    if first.said == "cut":
        return _cut(shape, words, called, is_area=is_area)
    if is_area:
        if first.said == "score":
            return ask(f"{called}, but is a filled area: to fill, or to score its outline?")
        return Verdict("fill", f"{called}, and is a filled area.")
    if first.said == "score":
        return Verdict("score", f"{called}: a line to score.")
    if first.said == "engrave":
        if is_wide:
            return Verdict("fill", f"{called}, and is a stroke over the line limit: an area.")
        return Verdict("score", f"{called}, and is a line: to engrave a line is to score it.")
    if is_wide:
        return Verdict("fill", f"{called}, and is a stroke over the line limit: an area.")
    if len(shape.path) and closed_subpaths(shape.path).all():
        return Verdict("fill", f"{called}: what its line goes round.")
    return ask(f"{called}, but is an open line: to score, or to leave out?")


def _names(shape: Shape, *, is_area: bool) -> tuple[str, ...]:
    """The names that count. A picture's own name says what it shows (the fold of a ribbon), not what it is for."""
    names = shape.names or (shape.source_layer,)
    return tuple(name for name in names if name not in (shape.source_id, shape.label)) if is_area else names


def name_of_cut_group(shape: Shape) -> str:
    """The layer, group or class that says that its lines are cut; empty where none does."""
    word = next(iter(words_of(_names(shape, is_area=True))), None)
    return word.name if word is not None and word.said == "cut" and not word.denied else ""


def denied(shape: Shape) -> Word | None:
    """A name that says what the shape is not for."""
    return next((word for word in words_of(shape.names) if word.denied), None)


def _cut(shape: Shape, words: tuple[Word, ...], called: str, *, is_area: bool) -> Verdict:
    other = next((word for word in words if word.said != "cut"), None)
    if other is not None:
        return ask(f"{called}, but lies in “{other.name[:60]}”: to cut or not?")
    if is_area:
        return ask(f"{called}, but is a filled area: to cut along its outline, or to fill?")
    if shape.is_text:
        return ask(f"{called}, but is lettering: to cut the letters out, or to score them?")
    if shape.is_dashed:
        return ask(f"{called}, but is dashed: to cut the dashes, the whole line, or to score?")
    return Verdict("cut", f"{called}: a line to cut.")
