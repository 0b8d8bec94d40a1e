"""Single-line letters for scored labels, drawn for this program: straight strokes, cut corners, easy to tell apart.

A glyph is strokes of points "xy" on a grid 4 wide; y runs down, 0 is the cap line, 2 the x-height, 6 the baseline,
8 the descender. Strokes are parted by ";"; a dot is a stroke from a point to itself, drawn as a short upright.
"""

import unicodedata

import numpy as np

from core.geometry.affine import Affine
from core.geometry.path import EMPTY, Floats, Path, joined, polyline

CAP_UNITS = 6.0
GAP_UNITS = 1.6
DOT_UNITS = 0.6

_GLYPHS = {
    "0": "10 30 41 45 36 16 05 01 10; 14 32",
    "1": "11 20 26; 16 36",
    "2": "01 10 30 41 42 06 46",
    "3": "01 10 30 41 42 33 13; 33 44 45 36 16 05",
    "4": "36 30 04 44",
    "5": "40 00 02 32 43 45 36 16 05",
    "6": "41 30 10 01 05 16 36 45 43 32 12 03",
    "7": "00 40 16",
    "8": "13 02 01 10 30 41 42 33 13 04 05 16 36 45 44 33",
    "9": "43 34 14 03 01 10 30 41 45 36 16 05",
    "A": "06 02 20 42 46; 04 44",
    "B": "00 06 36 45 44 33 03; 33 42 41 30 00",
    "C": "41 30 10 01 05 16 36 45",
    "D": "00 06 26 44 42 20 00",
    "E": "40 00 06 46; 03 33",
    "F": "40 00 06; 03 33",
    "G": "41 30 10 01 05 16 36 45 43 23",
    "H": "00 06; 40 46; 03 43",
    "I": "10 30; 20 26; 16 36",
    "J": "20 40; 30 35 26 16 05",
    "K": "00 06; 40 03 46",
    "L": "00 06 46",
    "M": "06 00 23 40 46",
    "N": "06 00 46 40",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "06 00 30 41 42 33 03",
    "Q": "10 30 41 45 36 16 05 01 10; 24 46",
    "R": "06 00 30 41 42 33 03; 23 46",
    "S": "41 30 10 01 02 13 33 44 45 36 16 05",
    "T": "00 40; 20 26",
    "U": "00 05 16 36 45 40",
    "V": "00 26 40",
    "W": "00 16 23 36 40",
    "X": "00 46; 40 06",
    "Y": "00 23 40; 23 26",
    "Z": "00 40 06 46",
    "a": "12 32 43 46 16 05 14 44",
    "b": "00 06 36 45 43 32 02",
    "c": "42 12 03 05 16 46",
    "d": "40 46 16 05 03 12 42",
    "e": "04 44 43 32 12 03 05 16 46",
    "f": "40 30 21 26; 02 42",
    "g": "46 16 05 03 12 42 47 38 08",
    "h": "00 06; 03 12 32 43 46",
    "i": "12 22 26; 16 36; 21 21",
    "j": "12 32 37 28 08; 31 31",
    "k": "00 06; 42 04 46",
    "l": "10 20 26; 16 36",
    "m": "06 02 12 23 26; 23 32 43 46",
    "n": "06 02; 03 12 32 43 46",
    "o": "12 32 43 45 36 16 05 03 12",
    "p": "08 02 32 43 45 36 06",
    "q": "48 42 12 03 05 16 46",
    "r": "06 02; 04 22 42",
    "s": "42 12 03 14 34 45 36 06",
    "t": "20 25 36 46; 02 42",
    "u": "02 05 16 36 45; 42 46",
    "v": "02 26 42",
    "w": "02 16 23 36 42",
    "x": "02 46; 42 06",
    "y": "02 05 16 46; 42 47 38 08",
    "z": "02 42 06 46",
    ".": "26 26",
    ",": "26 17",
    ":": "23 23; 26 26",
    "-": "13 33",
    "+": "04 44; 22 26",
    "=": "03 43; 05 45",
    "/": "06 40",
    "%": "06 40; 00 10 11 01 00; 35 45 46 36 35",
    "×": "03 36; 33 06",
    "°": "10 30 32 12 10",
    "²": "10 30 31 13 33",
    "(": "30 12 14 36",
    ")": "10 32 34 16",
    "_": "06 46",
    "?": "01 10 30 41 42 23 24; 26 26",
    "#": "11 15; 31 35; 02 42; 04 44",
}
_UNKNOWN = "00 40 46 06 00"
_WIDTHS = {" ": 3.0, ".": 2.0, ",": 2.0, ":": 2.0, "(": 3.0, ")": 3.0}


def text_path(text: str, *, height_mm: float, matrix: Affine | None = None) -> Path:
    """One line of text as open strokes, its cap line's left end at the origin, capitals ``height_mm`` tall.

    ``matrix`` maps the result further. Accents are dropped; what is not in the alphabet is drawn as an empty box.
    """
    unit_mm = height_mm / CAP_UNITS
    strokes: list[Path] = []
    x_units = 0.0
    for letter in _plain_letters(text):
        shift = x_units - (1.0 if letter in ".,:" else 0.0)
        for stroke in _strokes(letter):
            strokes.append(polyline((stroke + np.array([shift, 0.0])) * unit_mm))
        x_units += _advance_units(letter)
    path = joined(strokes) if strokes else EMPTY
    return path.transformed(matrix) if matrix is not None else path


def text_width_mm(text: str, *, height_mm: float) -> float:
    """How far the line reaches, from the first letter's left to the last one's right."""
    letters = _plain_letters(text)
    if not letters:
        return 0.0
    return (sum(map(_advance_units, letters)) - GAP_UNITS) * height_mm / CAP_UNITS


def _plain_letters(text: str) -> str:
    """The text with letters outside the alphabet replaced by their base letter where they have one."""
    return "".join(
        letter if letter in _GLYPHS or letter == " " else unicodedata.normalize("NFKD", letter)[0] for letter in text
    )


def _advance_units(letter: str) -> float:
    return _WIDTHS.get(letter, 4.0) + GAP_UNITS


def _strokes(letter: str) -> list[Floats]:
    if letter == " ":
        return []
    strokes = [
        np.array([[float(point[0]), float(point[1])] for point in stroke.split()])
        for stroke in _GLYPHS.get(letter, _UNKNOWN).split(";")
    ]
    for points in strokes:
        if len(points) == 2 and np.array_equal(points[0], points[1]):
            points[0, 1] -= DOT_UNITS  # a line of no length would not burn
    return strokes
