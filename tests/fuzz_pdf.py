"""Structure-aware fuzzing of the PDF reader: ``python -m tests.fuzz_pdf [SECONDS] [SEED] [FOLDER]``.

Pages are made of the format's own grammar (operators with operands of the right and the wrong kind, resources, fonts of
every kind, forms within forms, layers, boxes) and then mutated at the level of tokens, so that nearly every file
gets past the parser. Not collected by pytest; needs nothing but the project. The reader may raise UnreadableError and
nothing else, and faults of the program are let through (``core.element_faults``). The input in hand is always on disk
as ``current.pdf``; one that fails is kept as ``failed-SEED.pdf``; a reader that hangs is stopped after 20 s.
"""

# ruff: noqa: E501 - an object of the format is read best on one line

import contextlib
import faulthandler
import os
import random
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("TAIN_STRICT", "1")

from core.artwork.drawing import ReadOptions
from core.artwork.pdf.reading import read_pdf
from core.errors import UnreadableError

NUMBERS = [
    "0",
    "1",
    "-1",
    "0.5",
    "10",
    "72",
    "100",
    "-30.25",
    "1e3",
    "1000000",
    "-.0001",
    "2147483648",
    "99999999999999",
]
NAMES = ["/F1", "/F2", "/F3", "/F4", "/X1", "/X2", "/I1", "/S1", "/P1", "/G1", "/A", "/M", "/Nothing", "/DeviceRGB"]
STRINGS = ["(Ab)", "(\\000\\377)", "<0041>", "<00>", "<ffff0001>", "()", "(unfinished", "[(A) -200 (b) 5]", "[[] ()]"]
OPERATORS = {
    "m": 2, "l": 2, "c": 6, "v": 4, "y": 4, "h": 0, "re": 4, "f": 0, "f*": 0, "B": 0, "b*": 0, "S": 0, "s": 0, "n": 0,
    "W": 0, "W*": 0, "q": 0, "Q": 0, "cm": 6, "w": 1, "J": 1, "j": 1, "M": 1, "rg": 3, "RG": 3, "g": 1, "k": 4,
    "Tf": -2, "Td": 2, "Tm": 6, "Tj": -1, "TJ": -1, "Tr": 1, "Tz": 1, "Tc": 1, "BT": 0, "ET": 0, "Do": -3, "sh": -3,
    "gs": -3, "cs": -3, "scn": -3, "BDC": -4, "EMC": 0, "d": -5, "i": 1, "'": -1,
}  # fmt: skip
"""Operators with how many numbers they take; below zero: operands of another kind."""


def operation(chance: random.Random) -> str:
    """One operator with operands, now and then too few or of a wrong kind."""
    operator = chance.choice(list(OPERATORS))
    kind = OPERATORS[operator]
    number, name, string = (lambda pool=pool: chance.choice(pool) for pool in (NUMBERS, NAMES, STRINGS))
    operands = {
        -1: [string()],
        -2: [name(), number()],
        -3: [name()],
        -4: ["/OC", name()],
        -5: [f"[{number()} {number()}]", number()],
    }.get(kind) or [number() for _ in range(max(0, kind))]
    if chance.random() < 0.1:
        operands = [*operands[1:], chance.choice([number(), name(), string(), "<<>>", "null"])]
    return " ".join([*operands, operator])


def content(chance: random.Random) -> bytes:
    """A page's content: some operations, text among them."""
    lines = [operation(chance) for _ in range(chance.randint(1, 60))]
    lines.insert(chance.randrange(len(lines) + 1), f"BT {chance.choice(NAMES[:4])} 20 Tf 10 40 Td (Ab) Tj ET")
    lines.append("10 10 20 20 re f")
    return "\n".join(lines).encode("latin-1")


def value(chance: random.Random, depth: int = 0) -> str:
    """Any object, as an entry that expects another kind may hold."""
    made = ["null", "true", "7 0 R", "999 0 R", *NUMBERS[:6], *NAMES[:4], "(x)", "[1 2]"]
    if depth < 2:
        made += [f"[{value(chance, depth + 1)} {value(chance, depth + 1)}]", f"<< /A {value(chance, depth + 1)} >>"]
    return chance.choice(made)


def maybe(chance: random.Random, right: str, share: float = 0.12) -> str:
    """The entry as it should be, or now and then something else."""
    return value(chance) if chance.random() < share else right


def made_pdf(chance: random.Random) -> bytes:
    """A whole file."""
    one = lambda right: maybe(chance, right)  # noqa: E731 - short, as it stands in every line below
    glyph = " ".join(operation(chance) for _ in range(3)).encode("latin-1")
    fonts = "/F1 10 0 R /F2 11 0 R /F3 12 0 R /F4 13 0 R"
    resources = (
        f"<< /Font << {fonts} >> /XObject << /X1 {one('20 0 R')} /X2 {one('21 0 R')} /I1 22 0 R >>"
        f" /Properties {one('<< /A 30 0 R /M 31 0 R >>')} /ExtGState << /G1 << /ca {one('0.4')} >> >>"
        f" /Pattern << /P1 23 0 R >> >>"
    )
    objects: dict[int, bytes] = {
        1: f"<< /Type /Catalog /Pages 2 0 R /OCProperties {one('<< /OCGs [30 0 R] /D << /OFF [30 0 R] >> >>')} >>".encode(),
        2: f"<< /Type /Pages /Kids {one('[3 0 R]')} /Count 1 /MediaBox {one('[0 0 200 150]')} /Rotate {one('90')} >>".encode(),
        3: (
            f"<< /Type /Page /Parent 2 0 R /Contents {one('4 0 R')} /Resources {one(resources)} /UserUnit {one('2')}"
            f" /CropBox {one('[5 5 190 140]')} >>"
        ).encode(),
        4: stream(content(chance), ""),
        10: f"<< /Type /Font /Subtype /Type1 /BaseFont {one('/Helvetica')} /Encoding {one('/WinAnsiEncoding')} >>".encode(),
        11: (
            f"<< /Type /Font /Subtype /Type3 /FontBBox [0 0 100 100] /FontMatrix {one('[.01 0 0 .01 0 0]')}"
            f" /FirstChar 65 /LastChar 66 /Widths {one('[100 100]')} /Encoding {one('<< /Differences [65 /a /b] >>')}"
            f" /CharProcs {one('<< /a 14 0 R /b 14 0 R >>')} /Resources {one(resources)} >>"
        ).encode(),
        12: (
            f"<< /Type /Font /Subtype /Type0 /BaseFont /Any /Encoding {one('/Identity-H')}"
            f" /DescendantFonts {one('[15 0 R]')} /ToUnicode {one('14 0 R')} >>"
        ).encode(),
        13: f"<< /Type /Font /Subtype {one('/TrueType')} /BaseFont /Other /FirstChar {one('65')} /Widths [500] >>".encode(),
        14: stream(chance.choice([b"100 0 0 0 100 100 d1 ", b"100 0 d0 ", b""]) + glyph, ""),
        15: (
            f"<< /Type /Font /Subtype {one('/CIDFontType2')} /BaseFont /Any /CIDToGIDMap {one('/Identity')}"
            f" /CIDSystemInfo << /Registry (Adobe) /Ordering {one('(Identity)')} /Supplement 0 >> /DW {one('600')} >>"
        ).encode(),
        20: stream(content(chance), f"/Subtype /Form /BBox {one('[0 0 90 90]')} /Matrix {one('[1 0 0 1 3 4]')} /Resources {resources}"),
        21: stream(content(chance), f"/Subtype /Form /BBox [0 0 90 30] /OC {one('30 0 R')} /Resources {one(resources)}"),
        22: stream(b"\0", "/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray"),
        23: stream(b"0 0 5 5 re f", f"/PatternType 1 /PaintType 1 /TilingType 1 /BBox {one('[0 0 5 5]')} /XStep {one('5')} /YStep 5"),
        30: f"<< /Type /OCG /Name {one('(Layer)')} /Usage {one('<< /View << /ViewState /OFF >> >>')} >>".encode(),
        31: f"<< /Type /OCMD /OCGs {one('[30 0 R]')} /P {one('/AnyOff')} /VE {one('[/Not 30 0 R]')} >>".encode(),
    }  # fmt: skip
    return assembled(objects)


def stream(data: bytes, entries: str) -> bytes:
    """A stream object."""
    return f"<< {entries} /Length {len(data)} >>\nstream\n".encode() + data + b"\nendstream"


def assembled(objects: dict[int, bytes]) -> bytes:
    """Objects as a file with its table of places."""
    data = bytearray(b"%PDF-1.7\n")
    places = {}
    for number, body in objects.items():
        places[number] = len(data)
        data += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start, size = len(data), max(objects) + 1
    data += b"xref\n0 %d\n0000000000 65535 f \n" % size
    for number in range(1, size):
        data += b"%010d 00000 %s \n" % (places.get(number, 0), b"n" if number in places else b"f")
    return bytes(data + b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (size, start))


def main() -> None:
    """Make and read files for so long; says how many, and what became of them."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    folder = Path(sys.argv[3]) if len(sys.argv) > 3 else Path(tempfile.mkdtemp(prefix="tain-fuzz-pdf-"))
    folder.mkdir(parents=True, exist_ok=True)
    end, done, read = time.monotonic() + seconds, 0, 0
    while time.monotonic() < end:
        data = made_pdf(random.Random(seed))
        (folder / "current.pdf").write_bytes(data)
        faulthandler.dump_traceback_later(20, exit=True)
        try:
            with contextlib.suppress(UnreadableError):
                read_pdf(data, ReadOptions())
                read += 1
        except Exception as fault:  # noqa: BLE001 - it is told and kept
            (folder / f"failed-{seed}.pdf").write_bytes(data)
            print(f"seed {seed}: {type(fault).__name__}: {fault}", flush=True)
        faulthandler.cancel_dump_traceback_later()
        done, seed = done + 1, seed + 1
    print(f"{done} files, {read} of them read; up to seed {seed - 1}; {folder}")


if __name__ == "__main__":
    main()
