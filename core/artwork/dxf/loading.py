"""Bytes to an ezdxf document: refused when it is no DXF, mended where that is safe, recovered as a last resort.

Whatever was mended is a finding: a drawing that was put right silently may be wrong silently.
"""

import io
import logging
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from ezdxf import recover
from ezdxf.audit import AuditError
from ezdxf.document import Drawing as Document
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import ascii_tags_loader, binary_tags_loader
from ezdxf.lldxf.types import DXFTag
from ezdxf.tools.codepage import toencoding

from core.artwork.drawing import Finding
from core.artwork.dxf.mending import FAULTS, mended, without_bad_entities
from core.artwork.dxf.plain import PlainPart, plain_part
from core.element_faults import note_fault
from core.errors import UnreadableError
from core.progress import Progress, part

logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # what it warns of comes back as findings

BINARY_SENTINEL = b"AutoCAD Binary DXF\r\n\x1a\x00"
"""First 22 bytes of a binary DXF (DXF Reference, Binary DXF Files)."""

AGAIN = "Ask for the file again, or for SVG."
TAGS_BETWEEN_REPORTS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """A document, the plain entities that were read past it, and what had to be done to the file."""

    document: Document
    plain: PlainPart | None = None
    findings: tuple[Finding, ...] = ()


def load(data: bytes, progress: Progress) -> Loaded:
    """The document in the bytes. Raises UnreadableError when they are no DXF or hold nothing that can be used."""
    if data.startswith(BINARY_SENTINEL):
        return _loaded_binary(data, progress)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        data = data.decode("utf-16", "replace").encode("utf-8")
    _refuse_other_files(data)
    text = _decoded(data)
    try:
        return _read(text, progress)
    except FAULTS as error:
        fault = error
    findings: tuple[Finding, ...] = ()
    for mend in (mended, without_bad_entities):
        text, found = mend(text)
        findings += found
        if found:
            try:
                return replace(_read(text, progress), findings=findings)
            except FAULTS as error:
                fault = error
    return _recovered(text, findings, fault)


def _loaded_binary(data: bytes, progress: Progress) -> Loaded:
    try:
        tags = binary_tags_loader(data)
        return Loaded(document=Document.load(_reported(tags, len(data) // 12, progress)))
    except FAULTS:
        raise UnreadableError("The binary DXF is cut short or damaged.", hint=AGAIN) from None


def _refuse_other_files(data: bytes) -> None:
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    if not head:
        raise UnreadableError("The file is empty.", hint=AGAIN)
    if re.match(rb"AC(10\d\d|[12]\.\d|\d)", head):
        raise UnreadableError("This is a DWG drawing, not a DXF.", hint="Ask for it saved as DXF.")
    for magic, what in ((b"<", "an XML or SVG file"), (b"%PDF", "a PDF"), (b"PK\x03\x04", "a zip archive")):
        if head.startswith(magic):
            raise UnreadableError(f"This is {what}, not a DXF.", hint="Give it the ending that says what it is.")
    if not re.search(rb"(?m)^[ \t]*(SECTION|EOF)[ \t]*\r?$|\rSECTION\r", data):
        raise UnreadableError("This is no DXF: it has no sections.", hint=AGAIN)


def _decoded(data: bytes) -> str:
    """Text with plain line ends, no byte-order mark and no blank lines before the first tag."""
    data = data.removeprefix(b"\xef\xbb\xbf")
    encoding = _declared_encoding(data)
    if encoding != "utf-8" and not data.isascii():
        try:  # many a program writes UTF-8 into files of older versions
            data.decode("utf-8")
            encoding = "utf-8"
        except UnicodeDecodeError:
            pass
    text = data.decode(encoding, "surrogateescape")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text.lstrip("\n\t ") if text[:1].isspace() else text


def _declared_encoding(data: bytes) -> str:
    """From R2007 (AC1021) UTF-8, before that $DWGCODEPAGE (DXF Reference, HEADER section)."""
    head = data[:100_000]
    version = re.search(rb"\$ACADVER\s+1\s+(AC\d+)", head)
    if version and version.group(1) >= b"AC1021":
        return "utf-8"
    page = re.search(rb"\$DWGCODEPAGE\s+3\s+(\S+)", head)
    return toencoding(page.group(1).decode("latin-1")) if page else "cp1252"


def _read(text: str, progress: Progress) -> Loaded:
    plain = plain_part(text, part(progress, 0.0, 0.5))
    rest = plain.rest if plain else text
    tags = ascii_tags_loader(io.StringIO(rest))
    return Loaded(document=Document.load(_reported(tags, len(rest) // 14, part(progress, 0.5, 1.0))), plain=plain)


def _reported(tags: Iterable[DXFTag], expected: int, progress: Progress) -> Iterator[DXFTag]:
    """The tags, with a word to the progress callback now and then, so that loading can be stopped."""
    for count, tag in enumerate(tags):
        if count % TAGS_BETWEEN_REPORTS == 0:
            progress(min(count / max(expected, 1), 1.0), "Reading the file")
        yield tag


def _recovered(text: str, findings: tuple[Finding, ...], fault: Exception) -> Loaded:
    try:
        document, auditor = recover.read(io.BytesIO(text.encode("utf-8", "surrogateescape")))
    except FAULTS as error:
        raise UnreadableError(f"The DXF is damaged: {_in_words(error)}", hint=AGAIN) from None
    guessed = {AuditError.INVALID_FLOATING_POINT_VALUE, AuditError.INVALID_INTEGER_VALUE}
    entries = [*auditor.errors, *auditor.fixes]
    numbers = [entry for entry in entries if entry.code in guessed]
    others = [entry for entry in entries if entry.code not in guessed]
    recovered = [Finding(code="dxf-recovered", message=f"The DXF is damaged and was recovered: {_in_words(fault)}")]
    if numbers:
        recovered.append(
            Finding(
                code="dxf-numbers-guessed",
                message=f"{len(numbers)} numbers in the file are none and were guessed: {numbers[0].message}",
                severity="problem",
            )
        )
    recovered += [Finding(code="dxf-recovered", message=entry.message) for entry in others[:MAX_AUDIT_FINDINGS]]
    if len(others) > MAX_AUDIT_FINDINGS:
        rest = len(others) - MAX_AUDIT_FINDINGS
        recovered.append(Finding(code="dxf-recovered", message=f"{rest} more faults of the file were mended."))
    return Loaded(document=document, findings=(*findings, *recovered))


MAX_AUDIT_FINDINGS = 5


def why_unreadable(error: Exception, kind: str) -> str:
    """Why an entity could not be read, in words without an end mark; a fault of the program is noted as such."""
    note_fault(error, f"{kind} of a DXF file")
    said = isinstance(error, DXFError) or type(error) is ValueError
    return (" ".join(str(error).split())[:200] if said else "").strip(".'\" ") or "its data is broken"


def _in_words(error: Exception) -> str:
    """The library's own words for a fault of the file, ended like a sentence."""
    words = str(error).strip().strip("'\"") if isinstance(error, DXFError) else ""
    words = re.sub(r"\s+", " ", words)[:200] or "its structure is broken"
    return words if words.endswith(".") else words + "."
