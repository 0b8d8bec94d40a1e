"""Bytes to a tree of elements: unpacking, decoding, XML.

expat is fed the whole text at once (its cost in one long attribute is quadratic when fed in pieces) and the tree is
plain objects of our own, so that no depth of nesting recurses anywhere. External entities are never fetched;
internal ones are expanded by expat, within its own bound and ours.
"""

import re
import zlib
from collections.abc import Iterator
from xml.parsers import expat

from core.artwork.svg.limits import MAX_ELEMENTS, MAX_ENTITY_GROWTH_CHARS, MAX_FILE_BYTES, MAX_UNPACKED_BYTES
from core.errors import UnreadableError
from core.progress import Progress, silent

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
XLINK_NAMESPACE = "http://www.w3.org/1999/xlink"
XML_NAMESPACE = "http://www.w3.org/XML/1998/namespace"

_KEEPS_TEXT = frozenset({"text", "style", "title", "desc"})
_MAX_PREAMBLE = 20
_NOT_AN_SVG_HINT = "Export the artwork again as SVG."


class Node:
    """One element.

    ``tag`` is the local name for elements of the SVG namespace (or of none), ``{namespace}name`` for others.
    ``attributes`` go by local name: ``href`` for xlink:href, ``xml:space``, and ``:name`` for those of a foreign
    namespace. ``content`` holds text and children in order where text counts (text, style, title), else None.
    """

    __slots__ = ("attributes", "children", "content", "declared", "index", "line", "parent", "tag")

    def __init__(self, tag: str, attributes: dict[str, str], parent: "Node | None", line: int) -> None:
        self.tag = tag
        self.attributes = attributes
        self.parent = parent
        self.children: list[Node] = []
        self.content: list[Node | str] | None = None
        self.declared: dict[str, str] | None = None
        self.index = 0
        self.line = line

    @property
    def id(self) -> str:
        """The id attribute, or nothing."""
        return self.attributes.get("id", "")

    @property
    def label(self) -> str:
        """What the artist called it: its title, else its id."""
        for child in self.children:
            if child.tag == "title":
                return child.text().strip()[:80] or self.id
        return self.id

    @property
    def names(self) -> tuple[str, ...]:
        """All that it is called: its label, id, classes and title."""
        attributes = self.attributes
        if not self.children and "id" not in attributes and "class" not in attributes and ":label" not in attributes:
            return ()
        names = [attributes.get(":label", ""), self.id, *attributes.get("class", "").split()]
        names += [child.text().strip()[:80] for child in self.children if child.tag == "title"]
        return tuple(dict.fromkeys(name for name in names if name))

    def text(self) -> str:
        """The element's own text, children's text included."""
        parts: list[str] = []
        stack: list[Node | str] = [self]
        while stack:
            item = stack.pop()
            if isinstance(item, str):
                parts.append(item)
            elif item.content:
                stack.extend(reversed(item.content))
        return "".join(parts)

    def name_for_people(self) -> str:
        """``<path id="leaf">``, or the line it stands on where it has no id."""
        return f'<{self.tag} id="{self.id}">' if self.id else f"<{self.tag}> in line {self.line}"


class Document:
    """The tree, its ids (the first of a doubled id wins) and the text of its style sheets, in order."""

    def __init__(self, root: Node) -> None:
        self.root = root
        self.by_id: dict[str, Node] = {}
        self.style_sheets: list[str] = []
        self.notes: list[tuple[str, str]] = []
        """(code, sentence) about the file as a whole."""
        self.element_count = 0
        self.preamble: tuple[str, ...] = ()
        """Comments before the outermost element, where programs write their names."""
        self._mentioned: dict[str, bool] = {}

    def mentions(self, word: str) -> bool:
        """Whether any attribute or style sheet has the word."""
        if word not in self._mentioned:
            self._mentioned[word] = any(word in sheet for sheet in self.style_sheets) or any(
                word in value for node in walk(self.root) for value in node.attributes.values()
            )
        return self._mentioned[word]


def walk(node: Node) -> Iterator[Node]:
    """The node and all below it, in document order."""
    stack = [node]
    while stack:
        item = stack.pop()
        yield item
        stack.extend(reversed(item.children))


def unpacked(data: bytes) -> bytes:
    """The file's bytes, gunzipped where it is an .svgz. Raises UnreadableError past the size limit."""
    if len(data) > MAX_FILE_BYTES:
        raise UnreadableError(
            f"The SVG file is {len(data) / 1e6:.0f} MB large; at most {MAX_FILE_BYTES / 1e6:.0f} MB are read.",
            hint="Simplify the artwork or split it.",
        )
    if not data.startswith(b"\x1f\x8b"):
        return data
    unzip = zlib.decompressobj(wbits=31)
    try:
        result = unzip.decompress(data, MAX_UNPACKED_BYTES)
    except zlib.error as error:
        raise UnreadableError("The compressed SVG file is damaged.", hint="Fetch or export it again.") from error
    if unzip.unconsumed_tail:
        raise UnreadableError(
            f"The compressed SVG file unpacks to more than {MAX_UNPACKED_BYTES / 1e6:.0f} MB.",
            hint="Simplify the artwork or split it.",
        )
    if not unzip.eof:
        raise UnreadableError("The compressed SVG file ends too early.", hint="Fetch or export it again.")
    return result


_DECLARED_ENCODING = re.compile(rb"""^\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._\-]{1,40})["']""")


def decoded(data: bytes) -> tuple[str, list[tuple[str, str]]]:
    """The text, by byte-order mark, declaration, or UTF-8; and what was odd about it."""
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8"),
        (b"\xff\xfe\x00\x00", "utf-32"),
        (b"\x00\x00\xfe\xff", "utf-32"),
    ):
        if data.startswith(mark):
            return _decode(data, "utf-8-sig" if encoding == "utf-8" else encoding)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return _decode(data, "utf-16")
    if data.startswith(b"<\x00"):
        return _decode(data, "utf-16-le")
    if data.startswith(b"\x00<"):
        return _decode(data, "utf-16-be")
    declared = _DECLARED_ENCODING.match(data[:400])
    encoding = declared.group(1).decode("ascii") if declared else "utf-8"
    if encoding.lower().replace("_", "-").startswith(("utf-16", "utf16", "utf-32", "ucs")):
        encoding = "utf-8"  # the declaration itself was readable byte by byte, so it can't be true
    return _decode(data, encoding)


def _decode(data: bytes, encoding: str) -> tuple[str, list[tuple[str, str]]]:
    try:
        return data.decode(encoding), []
    except UnicodeDecodeError:
        note = f"The file says it is written in {encoding} but is not; it was read as Windows-1252."
    except (LookupError, ValueError):
        try:
            return data.decode("utf-8"), [
                ("encoding", f"The file names an unknown encoding, {encoding}; read as UTF-8.")
            ]
        except UnicodeDecodeError:
            note = f"The file names an unknown encoding, {encoding}; it was read as Windows-1252."
    return data.decode("cp1252", errors="replace"), [("encoding", note)]


def parse_document(data: bytes, *, progress: Progress = silent) -> Document:
    """The element tree of an SVG file.

    Raises UnreadableError with the line where it is no well-formed SVG.
    """
    data = unpacked(data)
    if not data.strip(b"\0 \t\r\n"):
        raise UnreadableError("The SVG file is empty.", hint=_NOT_AN_SVG_HINT)
    text, notes = decoded(data)
    text = text.lstrip("\ufeff \t\r\n")
    document = _TreeBuilder(progress).parse(text)
    document.notes.extend(notes)
    return document


class _TreeBuilder:
    """expat's handlers. Names are resolved by hand, so that an undeclared prefix does not lose the file."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._here: Node | None = None
        self._root: Node | None = None
        self._count = 0
        self._namespaces: dict[str, str] = {"xml": XML_NAMESPACE, "xlink": XLINK_NAMESPACE}
        self._namespace_stack: list[tuple[Node, dict[str, str], dict[str, str], dict[str, str], set[str]]] = []
        self._tag_names: dict[str, str] = {}
        self._attribute_names: dict[str, str] = {}
        self._plain_names: set[str] = set()
        """Attributes without a prefix met so far, which are called here as they are written."""
        self._by_id: dict[str, Node] = {}
        self._styles: list[Node] = []
        self._text_length = 0
        self._preamble: list[str] = []

    def parse(self, text: str) -> Document:
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        parser.CommentHandler = self._comment
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self._parser = parser
        self._allowed_chars = len(text) + MAX_ENTITY_GROWTH_CHARS
        self._has_entities = "<!ENTITY" in text
        try:
            parser.Parse(text, True)
        except expat.ExpatError as error:
            raise self._unreadable(error, text) from None
        if self._root is None or self._root.tag != "svg":
            what = (
                f"its outermost element is <{self._root.tag.rpartition('}')[2]}>"
                if self._root
                else "it holds no element"
            )
            raise UnreadableError(f"This is not an SVG file: {what}.", hint=_NOT_AN_SVG_HINT)
        return self._finished()

    def _start(self, raw_tag: str, raw_attributes: dict[str, str]) -> None:
        self._count += 1
        if self._count > MAX_ELEMENTS:
            raise UnreadableError(
                f"The SVG file holds more than {MAX_ELEMENTS:,} elements.", hint="Simplify the artwork or split it."
            )
        if self._count % 5000 == 0:
            self._progress(0.1, "Reading the file")
        parent = self._here
        outer = None
        attributes = raw_attributes
        if not self._plain_names.issuperset(raw_attributes):  # a name that was not met yet, with a prefix, a namespace
            if any(name.startswith("xmlns") for name in raw_attributes):
                outer = (self._namespaces, self._tag_names, self._attribute_names, self._plain_names)
                self._enter_namespaces(raw_attributes)
            attributes = self._resolved(raw_attributes)
        tag = self._tag_names.get(raw_tag) or self._resolve_tag(raw_tag)
        if self._has_entities:
            self._text_length += sum(map(len, raw_attributes.values()))
            if self._text_length > self._allowed_chars:
                raise UnreadableError("The SVG file's entities blow up its text.", hint="Export the artwork again.")
        node = Node(tag, attributes, parent, self._parser.CurrentLineNumber)
        if "id" in attributes:
            self._by_id.setdefault(attributes["id"], node)
        if tag == "style":
            self._styles.append(node)
        if outer is not None:
            self._namespace_stack.append((node, *outer))
        if parent is None:
            self._root = node
        else:
            node.index = len(parent.children)
            parent.children.append(node)
            if parent.content is not None:
                parent.content.append(node)
        if tag in _KEEPS_TEXT or (parent is not None and parent.content is not None):
            node.content = []
        self._here = node

    def _end(self, raw_tag: str) -> None:
        node = self._here
        assert node is not None
        self._here = node.parent
        if self._namespace_stack and self._namespace_stack[-1][0] is node:
            _, self._namespaces, self._tag_names, self._attribute_names, self._plain_names = self._namespace_stack.pop()

    def _characters(self, text: str) -> None:
        self._text_length += len(text)
        if self._text_length > self._allowed_chars:
            raise UnreadableError("The SVG file's entities blow up its text.", hint="Export the artwork again.")
        if self._here is not None and self._here.content is not None:
            self._here.content.append(text)

    def _comment(self, text: str) -> None:
        if self._root is None and len(self._preamble) < _MAX_PREAMBLE:
            self._preamble.append(text[:1000])

    def _enter_namespaces(self, raw_attributes: dict[str, str]) -> None:
        self._namespaces = dict(self._namespaces)
        for name, value in raw_attributes.items():
            if name == "xmlns":
                self._namespaces[""] = value
            elif name.startswith("xmlns:"):
                self._namespaces[name[6:]] = value
        self._tag_names, self._attribute_names, self._plain_names = {}, {}, set()

    def _resolved(self, raw_attributes: dict[str, str]) -> dict[str, str]:
        """Attributes by their names here; a plain ``href`` wins over xlink:href."""
        attributes: dict[str, str] = {}
        for raw_name, value in raw_attributes.items():
            if raw_name.startswith("xmlns"):
                continue
            name = self._attribute_names.get(raw_name) or self._resolve_attribute(raw_name)
            if name not in attributes or name == raw_name:
                attributes[name] = value
        return attributes

    def _resolve_tag(self, raw: str) -> str:
        prefix, _, local = raw.rpartition(":")
        namespace = self._namespaces.get(prefix, prefix)
        name = local if namespace in ("", SVG_NAMESPACE) or prefix == "svg" else f"{{{namespace}}}{local}"
        self._tag_names[raw] = name
        return name

    def _resolve_attribute(self, raw: str) -> str:
        prefix, _, local = raw.rpartition(":")
        if not prefix:
            name = raw
        else:
            namespace = self._namespaces.get(prefix, prefix)
            if namespace in (XLINK_NAMESPACE, SVG_NAMESPACE):
                name = local
            elif namespace == XML_NAMESPACE:
                name = f"xml:{local}"
            else:
                name = f":{local}"
        self._attribute_names[raw] = name
        if name == raw:
            self._plain_names.add(raw)
        return name

    def _finished(self) -> Document:
        assert self._root is not None
        document = Document(self._root)
        document.element_count = self._count
        document.preamble = tuple(self._preamble)
        document.by_id = self._by_id
        for node in self._styles:
            if node.attributes.get("type", "text/css").strip().lower() in ("text/css", ""):
                document.style_sheets.append(node.text())
        return document

    def _unreadable(self, error: expat.ExpatError, text: str) -> UnreadableError:
        reason = expat.ErrorString(error.code)
        if re.match(r"<!doctype\s+html|<html", text[:2000], re.IGNORECASE):
            return UnreadableError(
                "This is a web page, not an SVG file.", hint="Save the picture itself, not the page."
            )
        if self._root is None and not text.startswith("<"):
            return UnreadableError("This is not an SVG file: it is no XML.", hint=_NOT_AN_SVG_HINT)
        if (
            error.code
            in (
                expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS],
                expat.errors.codes[expat.errors.XML_ERROR_UNCLOSED_TOKEN],
            )
            or "unclosed" in reason
        ):
            reason = "it ends too early"
        return UnreadableError(
            f"The SVG file is damaged in line {error.lineno}, column {error.offset + 1}: {reason}.",
            hint="Fetch or export it again.",
        )
