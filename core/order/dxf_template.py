"""A DXF as a template: TEXT, MTEXT and ATTRIB of the model, TEXT and MTEXT of its blocks, with fields in braces.

The text of a block is one text: it says the same wherever the block is placed, fitted where it is placed first.
"""

import io
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ezdxf import recover
from ezdxf.tools.text import plain_mtext

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.dxf.loading import AGAIN
from core.artwork.dxf.mending import FAULTS
from core.artwork.dxf.reading import design_page, read_alone
from core.artwork.dxf.shapes import Page
from core.artwork.dxf.texts import LINE_PITCH, single_line_letters
from core.artwork.reading import as_asked
from core.errors import UnreadableError
from core.order.dxf_blocks import MODEL, TEXTS, PlacedBlocks, WithBlocks
from core.order.fields import Picked, names_in, with_values
from core.order.templates import NO_PROBE, PLAIN, Line, Probe, Setting

_ESCAPED = re.compile(r"\\\{([^{}\\;]{1,60})\\\}")
_FIELD = re.compile(r"\{([^{}\\;]{1,60})\}")
_IN_BLOCK = re.compile(
    r"(?P<before>(?P<open>\{(?=\\[a-zA-Z]))?(?:\\[ACFHQTWcfp][^\\;{}]*;)*)(?P<body>.*)(?(open)(?P<after>\}))", re.DOTALL
)
"""An MTEXT whose codes (font, height, colour, ...) stand before all of its words, with or without braces round all."""
_PLAIN = re.compile(r"(?:[^\\{}]|\\[\\{}~])*")
"""MTEXT without codes that change its look."""
_LONE_SIGN = re.compile(r"(?<!%)%(?=\{)")


class DxfTemplate:
    """The loaded drawing with its fields found. Raises UnreadableError where it can't be loaded."""

    def __init__(self, source: ArtworkSource, picked: Sequence[Picked] = ()) -> None:
        self._data = source.data
        self._document = _loaded(source)
        self._blocks = PlacedBlocks(self._document)
        in_blocks = list(self._blocks.texts())
        entities = [*_texts(self._document), *(entity for entity, _ in in_blocks)]
        self._raw = {entity.dxf.handle: _said(entity) for entity in entities}
        self.texts = tuple(" ".join(_plain(entity).split()) for entity in entities)
        for one in picked:
            if not 0 <= one.text < len(entities):
                raise UnreadableError(f"{source.name} has no text number {one.text + 1}.", hint="Pick the text again.")
            self._raw[entities[one.text].dxf.handle] = f"{{{one.name}}}"
        self._entities = {entity.dxf.handle: entity for entity in entities if names_in(self._raw[entity.dxf.handle])}
        self._block_of = {entity.dxf.handle: name for entity, name in in_blocks if entity.dxf.handle in self._entities}
        self._leading = self._blocks.leading_to(set(self._block_of.values())) if self._block_of else {}
        self._ways = {name: self._blocks.first_way(name) for name in set(self._block_of.values())}
        self.lines = tuple(self._line(entity) for entity in self._entities.values())
        self.out_of_reach = tuple(
            _plain(entity)
            for block in self._document.blocks
            if not block.is_any_layout and block.name not in self._blocks
            for entity in block
            if entity.dxftype() in TEXTS and names_in(_said(entity))
        )
        self._pages: dict[ReadOptions, Page] = {}

    def marked(self) -> bytes:
        """As it is: shapes of a DXF have the handles of their entities."""
        return self._data

    def filled(self, values: Mapping[str, str], settings: Mapping[str, Setting]) -> bytes:
        """The whole drawing filled in."""
        document = recover.read(io.BytesIO(self._data))[0]
        in_blocks = list(PlacedBlocks(document).texts())
        by_handle = {entity.dxf.handle: entity for entity in (*_texts(document), *(entity for entity, _ in in_blocks))}
        blocks = {entity.dxf.handle: document.blocks.get(name) for entity, name in in_blocks}
        for line in self.lines:
            entity, setting = by_handle[line.holder], settings.get(line.key, PLAIN)
            made = self._set(entity, line, values, setting, handle=None)
            _take_over(entity, made[0])
            for one in made[1:]:
                blocks.get(line.holder, document.modelspace()).add_entity(one)
        return _bytes(document)

    def read_filled(self, values: Mapping[str, str], settings: Mapping[str, Setting], options: ReadOptions) -> Drawing:
        """The texts with fields alone."""
        made: dict[str, list[Any]] = {MODEL: []}
        for line in self.lines:
            entity, setting = self._entities[line.holder], settings.get(line.key, PLAIN)
            texts = self._set(entity, line, values, setting, handle=line.holder)
            made.setdefault(self._block_of.get(line.holder, MODEL), []).extend(texts)
        contents = {name: [*made.get(name, ()), *self._leading.get(name, ())] for name in {**made, **self._leading}}
        return self._read(contents, options)

    def read_line(
        self, line: Line, values: Mapping[str, str], setting: Setting, options: ReadOptions, probe: Probe = NO_PROBE
    ) -> Drawing:
        """One line alone; of a block, where it is placed first."""
        entity = self._entities[line.holder]
        made = self._set(entity, line, values, setting, handle=line.holder)
        for one in made:
            if probe.text is not None:
                _say(one, probe.text)
            if probe.moved:
                angle = math.radians(_angle_deg(one))
                one.translate(probe.moved * math.cos(angle), probe.moved * math.sin(angle), 0.0)
        way = self._ways[self._block_of[line.holder]] if line.holder in self._block_of else {}
        contents = {name: [insert] for name, insert in way.items()}
        return self._read({**contents, self._block_of.get(line.holder, MODEL): made}, options)

    def _read(self, contents: Mapping[str, list[Any]], options: ReadOptions) -> Drawing:
        page = self._pages.get(options)
        if page is None:
            page = self._pages[options] = design_page(self._document, self._data, options)
        document = WithBlocks(self._document, contents)
        return as_asked(read_alone(document, contents[MODEL], self._data, options, page), options)

    def _line(self, entity: Any) -> Line:
        raw = self._raw[entity.dxf.handle]
        is_block = entity.dxftype() == "MTEXT"
        why_not = "it has several lines" if is_block and "\\P" in raw else ""
        if is_block and not why_not and _has_codes_within(raw):
            why_not = "its text is in several parts"
        if entity.dxftype() == "MTEXT" and entity.dxf.get("width", 0.0) > 0:
            why_not = "it breaks into lines by itself"
        elif entity.dxftype() == "ATTRIB":
            why_not = "it belongs to a block"
        return Line(
            key=entity.dxf.handle,
            holder=entity.dxf.handle,
            text=_letters(raw, is_block=is_block),
            fields=names_in(raw),
            can_split=not why_not,
            why_not=why_not,
            placed_once=entity.dxf.handle not in self._block_of,
        )

    def _set(
        self, entity: Any, line: Line, values: Mapping[str, str], setting: Setting, *, handle: str | None
    ) -> list[Any]:
        """Copies of a text, filled in and fitted: two where a TEXT is set in two lines."""
        is_block = entity.dxftype() == "MTEXT"
        escaped = {name: _escaped(value, is_block=is_block) for name, value in values.items()}
        words = [with_values(_LONE_SIGN.sub("%%%", self._raw[line.holder]), escaped)]
        if setting.lines:
            words = [_escaped(one, is_block=is_block) for one in setting.lines]
            words = [_within_codes(self._raw[line.holder], "\\P".join(words))] if is_block else words
        made = []
        for number, text in enumerate(words):
            one = entity.copy()
            if handle is not None:
                one.dxf.handle = handle
            height = "char_height" if is_block else "height"
            one.dxf.set(height, one.dxf.get(height, 1.0) * setting.size_share)
            if is_block and setting.width_share < 1:
                text = f"\\W{setting.width_share:.5f};{text}"
            elif setting.width_share < 1:
                one.dxf.width = (one.dxf.get("width", 1.0) or 1.0) * setting.width_share
            _say(one, text)
            if len(words) > 1:
                up = LINE_PITCH * one.dxf.get("height", 1.0) * (0.5 - number)
                angle = math.radians(_angle_deg(one))
                one.translate(-up * math.sin(angle), up * math.cos(angle), 0.0)
            made.append(one)
        return made


def _loaded(source: ArtworkSource) -> Any:
    try:
        return recover.read(io.BytesIO(source.data))[0]
    except FAULTS:
        raise UnreadableError(f"{source.name} is damaged, so no list can fill it.", hint=AGAIN) from None


def _texts(document: Any) -> Iterator[Any]:
    """TEXT, MTEXT of the model and the attributes of its inserts, in order."""
    for entity in document.modelspace():
        if entity.dxftype() in TEXTS:
            yield entity
        elif entity.dxftype() == "INSERT":
            yield from entity.attribs


def _said(entity: Any) -> str:
    if entity.dxftype() == "MTEXT":
        return _ESCAPED.sub(r"{\1}", entity.text)
    return str(entity.dxf.get("text", ""))


def _plain(entity: Any) -> str:
    return str(entity.plain_text()) if entity.dxftype() == "MTEXT" else single_line_letters(_said(entity))


def _say(entity: Any, text: str) -> None:
    if entity.dxftype() == "MTEXT":
        entity.text = text
    else:
        entity.dxf.text = text


def _escaped(value: str, *, is_block: bool) -> str:
    """A value that is shown letter by letter, in TEXT and in MTEXT.

    DXF Reference, control codes: %% begins a code and %%% is a percent sign, so that a sign alone can't begin one with
    what stands beside it in the drawing; a caret begins a control letter, and one with a space is itself. In MTEXT a
    backslash stands before itself and before braces.
    """
    if is_block:
        value = re.sub(r"([\\{}])", r"\\\1", value)
    return value.replace("%", "%%%").replace("^", "^ ")


def _within_codes(raw: str, words: str) -> str:
    """These words in place of an MTEXT's own, behind the codes that stand before those."""
    found = _IN_BLOCK.fullmatch(raw)
    return f"{found.group('before')}{words}{found.group('after') or ''}" if found is not None else words


def _has_codes_within(raw: str) -> bool:
    """Whether codes of an MTEXT change its look between its words."""
    found = _IN_BLOCK.fullmatch(_FIELD.sub("x", raw))
    return found is None or _PLAIN.fullmatch(found.group("body")) is None


def _letters(raw: str, *, is_block: bool) -> str:
    """What a raw text shows, its fields in braces: what ``_escaped`` does, undone."""
    if not is_block:
        return single_line_letters(raw)
    body = _IN_BLOCK.fullmatch(raw)
    return str(plain_mtext(_FIELD.sub(r"\\{\1\\}", body.group("body") if body is not None else raw)))


def _angle_deg(entity: Any) -> float:
    return float(entity.get_rotation() if entity.dxftype() == "MTEXT" else entity.dxf.get("rotation", 0.0))


def _take_over(entity: Any, made: Any) -> None:
    """What a copy says, its size and its place, put onto the entity of the drawing."""
    _say(entity, made.text if made.dxftype() == "MTEXT" else made.dxf.text)
    for name in ("char_height", "height", "width", "insert", "align_point"):
        if made.dxf.hasattr(name):
            entity.dxf.set(name, made.dxf.get(name))


def _bytes(document: Any) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return document.encode(stream.getvalue())  # type: ignore[no-any-return]
