"""An SVG as a template: fields are filled in the file itself, so that what comes of it is ordinary artwork."""

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.reading import read_artwork
from core.artwork.svg.document import unpacked
from core.errors import UnreadableError
from core.geometry.flattening import path_bounds_mm
from core.order.fields import Picked, names_in, with_values
from core.order.svg_uses import with_uses_written_out
from core.order.templates import NO_PROBE, PLAIN, Line, Probe, Setting

_SVG = "{http://www.w3.org/2000/svg}"
_DRAWN = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "image", "use", "text"})
_GROUPS = frozenset({"g", "a", "svg"})
_APART = frozenset(
    {"defs", "clipPath", "mask", "marker", "pattern", "symbol", "linearGradient", "radialGradient", "filter", "switch"}
)
_OF_PAINT = frozenset({"clipPath", "mask", "marker", "pattern"})
_PICKED = "data-made-a-field"
_NAMES = re.compile(r"#([^\s)'\"]+)")
_IN_EM = re.compile(r"\s*([-+]?[\d.]+)em\s*")
_UPPER_EM, _PITCH_EM = -0.6, 1.2
"""Where the upper of two lines stands above the one line, and how far apart they are (CSS's usual line height)."""


@dataclass(frozen=True, slots=True)
class _Slot:
    """A text node: what stands in an element, or behind it."""

    path: tuple[int, ...]
    behind: bool


@dataclass(frozen=True, slots=True)
class _Carrier:
    """A line's element and its text nodes, by their ways from the root."""

    line: Line
    path: tuple[int, ...]
    holder: tuple[int, ...]
    slots: tuple[_Slot, ...]
    inner: tuple[tuple[int, ...], ...]
    """Lines placed on their own within it."""


class SvgTemplate:
    """The parsed file with its fields found. Raises UnreadableError where it is no well-formed SVG."""

    def __init__(self, source: ArtworkSource, picked: Sequence[Picked] = ()) -> None:
        self._name = source.name
        parser = etree.XMLParser(no_network=True, remove_comments=False)
        try:
            self._root = etree.fromstring(unpacked(source.data), parser)
        except (etree.XMLSyntaxError, ValueError):
            raise UnreadableError(
                f"{source.name} is not well-formed, so no list can fill it.", hint="Save it again where it was drawn."
            ) from None
        texts = [element for element in self._root.iter() if _tag(element) == "text"]
        self.texts = tuple(" ".join(_text_of(element).split()) for element in texts)
        for one in picked:
            if not 0 <= one.text < len(texts):
                raise UnreadableError(f"{source.name} has no text number {one.text + 1}.", hint="Pick the text again.")
        for one in picked:
            texts[one.text].set(_PICKED, one.name)
        self._root = with_uses_written_out(self._root, _holds_field, self._drawn)
        holders = [one for one in self._root.iter() if _tag(one) == "text" and _holds_field(one) and not _is_apart(one)]
        of_picks = {holder: name for holder in holders if (name := holder.get(_PICKED)) is not None}
        for element in self._root.iter():
            if isinstance(element.tag, str):
                element.attrib.pop(_PICKED, "")
        _give_ids(self._root, holders)
        referred = set(_NAMES.findall(_bytes(self._root).decode()))
        self.out_of_reach = tuple(
            " ".join(_text_of(one).split())
            for one in self._root.iter()
            if _tag(one) == "text" and _holds_field(one) and _is_part_of_paint(one, referred)
        )
        self._marked = _bytes(self._root)
        for element, name in of_picks.items():
            _make_field(element, name)
        self._carriers = tuple(carrier for holder in holders for carrier in _carriers(holder))
        for carrier in self._carriers:
            _one_place(_at(self._root, carrier.path))
        self.lines = tuple(carrier.line for carrier in self._carriers)
        self._bare = copy.deepcopy(self._root)
        _hide_others(self._bare, [carrier.holder for carrier in self._carriers])

    def marked(self) -> bytes:
        """As it is, with the ids."""
        return self._marked

    def filled(self, values: Mapping[str, str], settings: Mapping[str, Setting]) -> bytes:
        """The whole file filled in."""
        return _bytes(self._set(self._root, values, settings))

    def read_filled(self, values: Mapping[str, str], settings: Mapping[str, Setting], options: ReadOptions) -> Drawing:
        """The texts with fields alone."""
        return self._read(self._set(self._bare, values, settings), options)

    def read_line(
        self, line: Line, values: Mapping[str, str], setting: Setting, options: ReadOptions, probe: Probe = NO_PROBE
    ) -> Drawing:
        """One line alone: the others keep their places but do not show."""
        root = copy.deepcopy(self._bare)
        carrier = next(one for one in self._carriers if one.line == line)
        element, inner = _at(root, carrier.path), [_at(root, path) for path in carrier.inner]
        for holder in {one.holder for one in self._carriers}:
            _style(_at(root, holder), "visibility:hidden" if holder == carrier.holder else "display:none")
        _style(element, "visibility:visible")
        for one in inner:
            _style(one, "visibility:hidden")
        if probe.anchor:
            _style(element, f"text-anchor:{probe.anchor}")
        if probe.moved:
            element.set("x", f"{_number(element.get('x', '0')) + probe.moved:.9g}")
        if probe.text is None:
            _fill(root, carrier, values, setting)
        else:
            for slot in carrier.slots:
                _say(root, slot, "")
            _say(root, carrier.slots[0], probe.text)
        return self._read(root, options)

    def _set(self, root: etree._Element, values: Mapping[str, str], settings: Mapping[str, Setting]) -> etree._Element:
        made = copy.deepcopy(root)
        # from the last to the first: what is put into a line moves nothing that comes before it
        for carrier in reversed(self._carriers):
            _fill(made, carrier, values, settings.get(carrier.line.key, PLAIN))
        return made

    def _drawn(self, root: etree._Element) -> list[tuple[object, ...]]:
        """What a tree draws, shape by shape, to the micrometre."""
        return [
            (
                shape.kind, shape.fill, shape.stroke.colour if shape.stroke else None,
                round(shape.stroke.width_mm, 3) if shape.stroke else None, shape.is_text, len(shape.path),
                *np.round(path_bounds_mm(shape.path), 3), *np.round(shape.clip.bounds if shape.clip else (), 3),
                *np.round(shape.area.bounds if shape.area else (), 3),
            )
            for shape in self._read(root, ReadOptions()).shapes
        ]  # fmt: skip

    def _read(self, root: etree._Element, options: ReadOptions) -> Drawing:
        return read_artwork(ArtworkSource(name=self._name, data=_bytes(root)), options)


def _fill(root: etree._Element, carrier: _Carrier, values: Mapping[str, str], setting: Setting) -> None:
    for slot in carrier.slots:
        _say(root, slot, with_values(_said(root, slot), dict(values)))
    element = _at(root, carrier.path)
    if setting.lines:
        _two_lines(element, carrier, root, setting)
    elif setting.length is not None or setting.size_share != 1.0:
        inside = _wrapped(element, {_at(root, path) for path in carrier.inner})
        if setting.length is not None:
            inside.set("textLength", f"{setting.length:.9g}")
            inside.set("lengthAdjust", "spacingAndGlyphs")
        if setting.size_share != 1.0:
            _style(inside, f"font-size:{setting.size_share:.9g}em")


def _two_lines(element: etree._Element, carrier: _Carrier, root: etree._Element, setting: Setting) -> None:
    tag = f"{_SVG}tspan" if str(element.tag).startswith("{") else "tspan"
    x = element.get("x") or _at(root, carrier.holder).get("x") or "0"
    own = _IN_EM.fullmatch(element.get("dy", "0em"))
    first_em = _UPPER_EM + (float(own.group(1)) / setting.size_share if own else 0.0)
    element.text = None
    for words, dy_em in zip(setting.lines, (first_em, _PITCH_EM), strict=True):
        line = etree.SubElement(element, tag, {"x": x, "dy": f"{dy_em:.9g}em"})
        line.text = words
        if setting.size_share != 1.0:
            _style(line, f"font-size:{setting.size_share:.9g}em")


def _wrapped(element: etree._Element, inner: set[etree._Element]) -> etree._Element:
    """What stands in an element, up to the first line placed on its own, in a part of its own."""
    made = etree.Element(f"{_SVG}tspan" if str(element.tag).startswith("{") else "tspan")
    made.text, element.text = element.text, None
    for child in list(element):
        if child in inner or any(below in inner for below in child.iter()):
            break
        made.append(child)
    element.insert(0, made)
    return made


# --- finding ---------------------------------------------------------------------------------------------------------


def _carriers(holder: etree._Element) -> Iterator[_Carrier]:
    """The lines of a text that hold fields, in the order of the file."""
    placed = [holder, *(e for e in holder.iter() if e is not holder and _is_placed(e))]
    slots: dict[etree._Element, list[tuple[_Slot, str]]] = {element: [] for element in placed}
    for element in holder.iter():
        if not isinstance(element.tag, str):
            continue
        if element.text and _tag(element) not in ("title", "desc"):
            slots[_nearest(element, slots)].append((_Slot(_way(element), False), element.text))
        above = element.getparent()
        if element is not holder and element.tail and above is not None:
            slots[_nearest(above, slots)].append((_Slot(_way(element), True), element.tail))
    for element, texts in slots.items():
        fields = tuple(dict.fromkeys(name for _, text in texts for name in names_in(text)))
        if not fields:
            continue
        inner = tuple(_way(other) for other in placed if other is not element and element in other.iterancestors())
        why_not = _why_not_split(element)
        yield _Carrier(
            line=Line(
                key="/".join(map(str, _way(element))),
                holder=holder.get("id", ""),
                text=" ".join("".join(text for _, text in texts).split()),
                fields=fields,
                can_split=not why_not,
                why_not=why_not,
            ),
            path=_way(element),
            holder=_way(holder),
            slots=tuple(slot for slot, _ in texts),
            inner=inner,
        )


def _holds_field(text: etree._Element) -> bool:
    return text.get(_PICKED) is not None or bool(names_in(_text_of(text)))


def _is_apart(element: etree._Element) -> bool:
    """Whether it is drawn only where something refers to it."""
    return any(_tag(one) in _APART - {"switch"} for one in element.iterancestors())


def _is_part_of_paint(text: etree._Element, referred: set[str]) -> bool:
    """Whether it cuts out or paints something else: what it says then shows in that, not as a text."""
    within = [one for one in text.iterancestors() if _tag(one) in _OF_PAINT]
    return bool(within) and within[-1].get("id", "") in referred


def _why_not_split(element: etree._Element) -> str:
    if any(isinstance(child.tag, str) for child in element):
        return "its text is in several parts"
    if any(_tag(one) == "textPath" for one in (element, *element.iterancestors())):
        return "it runs along a path"
    if _IN_EM.fullmatch(element.get("dy", "0em")) is None:
        return "its line is shifted by a length of its own"
    return ""


def _is_placed(element: etree._Element) -> bool:
    return _tag(element) == "textPath" or (
        _tag(element) == "tspan" and ("x" in element.attrib or "y" in element.attrib)
    )


def _nearest(element: etree._Element, among: Mapping[etree._Element, object]) -> etree._Element:
    step: etree._Element | None = element
    while step is not None and step not in among:
        step = step.getparent()
    assert step is not None
    return step


def _make_field(element: etree._Element, name: str) -> None:
    """A text that says one field and nothing else, where its first words stood."""
    saying = [one for one in element.iter() if isinstance(one.tag, str) and one.text and one.text.strip()]
    first = saying[0] if saying else element
    for one in element.iter():
        if isinstance(one.tag, str) and _tag(one) not in ("title", "desc"):
            one.text = f"{{{name}}}" if one is first else None
        if one is not element:
            one.tail = None


def _give_ids(root: etree._Element, holders: Sequence[etree._Element]) -> None:
    taken: dict[str, int] = {}
    for element in root.iter():
        if isinstance(element.tag, str) and element.get("id"):
            taken[element.get("id", "")] = taken.get(element.get("id", ""), 0) + 1
    for number, holder in enumerate(holders, start=1):
        if taken.get(holder.get("id", ""), 0) == 1:
            continue
        name = f"text-with-fields-{number}"
        while name in taken:
            name += "-"
        taken[name] = 1
        holder.set("id", name)


def _one_place(element: etree._Element) -> None:
    """The place of the first letter stands for the whole text: those of the others were for what stood there."""
    for name in ("x", "y", "dx", "dy", "rotate"):
        words = element.get(name, "").replace(",", " ").split()
        if len(words) > 1:
            element.set(name, words[0])
    for name in ("textLength", "lengthAdjust"):
        if name in element.attrib:
            del element.attrib[name]


def _hide_others(root: etree._Element, holders: Sequence[tuple[int, ...]]) -> None:
    """Everything that is drawn but the texts with fields is hidden, and taken out where nothing can refer to it."""
    kept = {_at(root, path) for path in holders}
    around = {above for element in kept for above in element.iterancestors()}
    text = _bytes(root).decode()
    referred = set(_NAMES.findall(text))
    by_place = bool(re.search(r"(?i):(nth|first|last|only|not|empty|has)|[+~]\s*[.#\w]", _style_sheets(root)))
    stack = [root]
    while stack:
        for child in list(stack.pop()):
            tag = _tag(child)
            if tag in _APART or child in kept:
                continue
            if child in around:
                stack.append(child)
            elif tag in _DRAWN or tag in _GROUPS:
                ids = {one.get("id", "") for one in child.iter() if isinstance(one.tag, str)}
                if by_place or ids & referred or (tag in _GROUPS and any(_tag(one) in _APART for one in child.iter())):
                    _style(child, "display:none")
                else:
                    _take_out(child)


def _style_sheets(root: etree._Element) -> str:
    return "\n".join(_text_of(one) for one in root.iter() if _tag(one) == "style")


def _take_out(element: etree._Element) -> None:
    """Leave an empty group in its place: the ways to the others stay what they are."""
    made = etree.Element(f"{_SVG}g" if str(element.tag).startswith("{") else "g")
    made.tail = element.tail
    parent = element.getparent()
    assert parent is not None
    parent.replace(element, made)


# --- small steps in the tree -----------------------------------------------------------------------------------------


def _tag(element: etree._Element) -> str:
    tag = element.tag
    return tag.removeprefix(_SVG) if isinstance(tag, str) else ""


def _way(element: etree._Element) -> tuple[int, ...]:
    way: list[int] = []
    step, parent = element, element.getparent()
    while parent is not None:
        way.append(parent.index(step))
        step, parent = parent, parent.getparent()
    return tuple(reversed(way))


def _at(root: etree._Element, way: tuple[int, ...]) -> etree._Element:
    element = root
    for index in way:
        element = element[index]
    return element


def _text_of(element: etree._Element) -> str:
    return "".join(str(text) for text in element.itertext())


def _said(root: etree._Element, slot: _Slot) -> str:
    element = _at(root, slot.path)
    return (element.tail if slot.behind else element.text) or ""


def _say(root: etree._Element, slot: _Slot, text: str) -> None:
    element = _at(root, slot.path)
    if slot.behind:
        element.tail = text
    else:
        element.text = text


def _style(element: etree._Element, words: str) -> None:
    own = element.get("style", "").strip().rstrip(";")
    element.set("style", f"{own};{words}" if own else words)


def _number(text: str) -> float:
    match = re.match(r"\s*[-+]?[\d.]+(?:e[-+]?\d+)?", text)
    return float(match.group()) if match else 0.0


def _bytes(root: etree._Element) -> bytes:
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return data
