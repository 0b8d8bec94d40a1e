"""Which fonts this machine has, and which of them comes nearest to what is asked.

fontconfig is asked where it is there; elsewhere the usual font folders are read. The catalogue is made once a process.
"""

import itertools
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import fontTools  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from fontTools.ttLib import TTCollection, TTFont, TTLibError

_FONT_SUFFIXES = frozenset({".ttf", ".otf", ".ttc", ".otc"})
_MAX_SCANNED_FONTS = 4000

GENERIC_FAMILIES = {
    "sans-serif": ("DejaVu Sans", "Liberation Sans", "Noto Sans", "Arial", "Helvetica", "Segoe UI"),
    "serif": ("DejaVu Serif", "Liberation Serif", "Noto Serif", "Times New Roman", "Times", "Georgia"),
    "monospace": ("DejaVu Sans Mono", "Liberation Mono", "Noto Sans Mono", "Courier New", "Consolas", "Menlo"),
}
"""What stands in for a generic family, first that is installed; open fonts first."""

_OTHER_GENERICS = {
    "system-ui": "sans-serif", "ui-sans-serif": "sans-serif", "cursive": "serif", "fantasy": "sans-serif",
    "ui-serif": "serif", "ui-monospace": "monospace", "math": "serif", "emoji": "sans-serif",
    "ui-rounded": "sans-serif",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class FontFace:
    """One face of an installed font. ``weight`` is 1..1000 as in CSS; ``width_pct`` 100 is normal."""

    file: str
    index: int
    families: tuple[str, ...]
    weight: float
    italic: bool
    width_pct: float

    @property
    def family(self) -> str:
        """The family's first name."""
        return self.families[0]


@lru_cache(maxsize=1)
def installed_fonts() -> tuple[FontFace, ...]:
    """All outline fonts of this machine, in a stable order."""
    faces = _from_fontconfig() or _from_folders()
    return tuple(sorted(faces, key=lambda face: (face.family.lower(), face.width_pct != 100, face.file, face.index)))


def generic_of(family: str) -> str | None:
    """The generic family that a name is, None for a real one."""
    name = family.strip().lower()
    return name if name in GENERIC_FAMILIES else _OTHER_GENERICS.get(name)


@lru_cache(maxsize=512)
def find_face(family: str, weight: float = 400, italic: bool = False, width_pct: float = 100) -> FontFace | None:
    """The installed face of this family (or generic family) that comes nearest; None where it is not installed."""
    generic = generic_of(family)
    for name in GENERIC_FAMILIES[generic] if generic else (family,):
        wanted = name.strip().lower()
        faces = [face for face in installed_fonts() if any(wanted == one.lower() for one in face.families)]
        if faces:
            return min(faces, key=lambda face: _distance(face, weight, italic, width_pct))
    return any_face(weight, italic) if generic else None


@lru_cache(maxsize=64)
def any_face(weight: float = 400, italic: bool = False) -> FontFace | None:
    """A face to fall back on: of the usual sans-serif families, else whatever there is."""
    usual = [name.lower() for name in GENERIC_FAMILIES["sans-serif"]]
    faces = installed_fonts()
    if not faces:
        return None

    def rank(face: FontFace) -> tuple[int, float]:
        family = face.family.lower()
        return (usual.index(family) if family in usual else len(usual), _distance(face, weight, italic, 100))

    return min(faces, key=rank)


def _distance(face: FontFace, weight: float, italic: bool, width_pct: float) -> float:
    """How far a face is from what is asked: width before slant before weight (CSS Fonts 4, 5.2)."""
    away = abs(face.weight - weight)
    if (weight >= 500) != (face.weight >= weight) and face.weight != weight:
        away += 300  # bold looks for bolder first, light for lighter
    return abs(face.width_pct - width_pct) * 1e4 + (face.italic != italic) * 2e3 + away


_FONTCONFIG_WEIGHTS = (
    (0, 100), (40, 200), (50, 300), (55, 350), (75, 380), (80, 400), (100, 500), (180, 600), (200, 700), (205, 800),
    (210, 900), (215, 950),
)  # fmt: skip
"""fontconfig's weights beside OpenType's (fontconfig documentation, FcWeightToOpenType)."""


def _from_fontconfig() -> list[FontFace]:
    program = shutil.which("fc-list")
    if program is None:
        return []
    form = "%{file}\t%{index}\t%{family}\t%{weight}\t%{slant}\t%{width}\t%{outline}\n"
    try:
        done = subprocess.run([program, "--format", form], capture_output=True, timeout=20, check=True)
    except (OSError, subprocess.SubprocessError):
        return []
    faces = []
    for line in done.stdout.decode("utf-8", errors="replace").splitlines():
        parts = line.split("\t")
        if len(parts) != 7 or parts[6] == "False" or Path(parts[0]).suffix.lower() not in _FONT_SUFFIXES:
            continue
        faces.append(
            FontFace(
                file=parts[0],
                index=int(parts[1] or 0) & 0xFFFF,
                families=tuple(parts[2].split(",")),
                weight=_css_weight(_first_number(parts[3], 80)),
                italic=_first_number(parts[4], 0) > 0,
                width_pct=_first_number(parts[5], 100),
            )
        )
    return faces


def _first_number(text: str, default: float) -> float:
    """A fontconfig value; of a range ``[50 200]`` the default if inside, else its start."""
    numbers = [float(word) for word in text.strip("[]").split() if word.replace(".", "", 1).isdecimal()]
    if len(numbers) == 2 and numbers[0] <= default <= numbers[1]:
        return default
    return numbers[0] if numbers else default


def _css_weight(weight: float) -> float:
    for (low, css_low), (high, css_high) in itertools.pairwise(_FONTCONFIG_WEIGHTS):
        if weight <= high:
            return css_low + (css_high - css_low) * max(0.0, weight - low) / (high - low)
    return 950


def _from_folders() -> list[FontFace]:
    faces: list[FontFace] = []
    for file in font_files(_font_folders()):
        if len(faces) >= _MAX_SCANNED_FONTS:
            break
        try:
            faces.extend(faces_of(file))
        except (TTLibError, OSError, KeyError, ValueError, AttributeError, AssertionError):
            continue  # one broken font among many is not this program's to report
    return faces


def _font_folders() -> list[Path]:
    home = Path.home()
    if sys.platform == "win32":
        folders = [Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts"]
        if "LOCALAPPDATA" in os.environ:
            folders.append(Path(os.environ["LOCALAPPDATA"]) / "Microsoft/Windows/Fonts")
        return folders
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    return [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".local/share/fonts", home / ".fonts"]


def font_files(folders: Iterable[Path]) -> list[Path]:
    """All font files in and below the folders."""
    files: list[Path] = []
    for folder in folders:
        if folder.is_dir():
            files.extend(file for file in sorted(folder.rglob("*")) if file.suffix.lower() in _FONT_SUFFIXES)
    return files


def faces_of(file: Path) -> list[FontFace]:
    """The faces in a font file. Raises what fontTools raises where it is damaged."""
    if file.suffix.lower() in (".ttc", ".otc"):
        with TTCollection(str(file), lazy=True) as collection:
            return [_face(str(file), index, font) for index, font in enumerate(collection.fonts)]
    with TTFont(str(file), lazy=True) as font:
        return [_face(str(file), 0, font)]


def _face(file: str, index: int, font: TTFont) -> FontFace:
    names = font["name"]
    families = tuple(dict.fromkeys(str(record) for record in names.names if record.nameID in (1, 16)))
    widths = (50, 62.5, 75, 87.5, 100, 112.5, 125, 150, 200)  # OpenType, OS/2 usWidthClass
    os2 = font["OS/2"]
    return FontFace(
        file=file,
        index=index,
        families=families or (Path(file).stem,),
        weight=float(os2.usWeightClass or 400),
        italic=bool(os2.fsSelection & 0b1000000001),  # italic or oblique
        width_pct=float(widths[min(max(os2.usWidthClass, 1), 9) - 1]),
    )
