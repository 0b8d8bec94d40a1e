"""How large one drawing unit is: the header's $INSUNITS, or the maker's word."""

from dataclasses import dataclass

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from ezdxf.document import Drawing as Document

from core.artwork.drawing import Finding, ReadOptions
from core.errors import UnitsUnknownError, UnreadableError
from core.units import MM_PER_INCH, MM_PER_UNIT

_FOOT_MM = 12 * MM_PER_INCH
_SURVEY_FOOT_MM = 1_200_000 / 3937

INSUNITS: dict[int, tuple[str, float]] = {
    1: ("inches", MM_PER_INCH),
    2: ("feet", _FOOT_MM),
    3: ("miles", 5280 * _FOOT_MM),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1e3),
    7: ("km", 1e6),
    8: ("microinches", MM_PER_INCH * 1e-6),
    9: ("mils", MM_PER_INCH * 1e-3),
    10: ("yards", 3 * _FOOT_MM),
    11: ("angstroms", 1e-7),
    12: ("nm", 1e-6),
    13: ("µm", 1e-3),
    14: ("dm", 100.0),
    15: ("dam", 1e4),
    16: ("hm", 1e5),
    17: ("Gm", 1e12),
    18: ("astronomical units", 1.495978707e14),
    19: ("light years", 9.4607304725808e18),
    20: ("parsecs", 3.0856775814914e19),
    21: ("US survey feet", _SURVEY_FOOT_MM),
    22: ("US survey inches", _SURVEY_FOOT_MM / 12),
    23: ("US survey yards", 3 * _SURVEY_FOOT_MM),
    24: ("US survey miles", 5280 * _SURVEY_FOOT_MM),
}
"""Name and mm of each $INSUNITS code (DXF Reference, HEADER section; 21 to 24: ezdxf documentation, DXF Units)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitScale:
    """mm per drawing unit, where that comes from, and findings about it."""

    mm_per_unit: float
    units_from: str
    findings: tuple[Finding, ...] = ()


def unit_scale(document: Document, data: bytes, options: ReadOptions) -> UnitScale:
    """mm per drawing unit: ``options.units``, else $INSUNITS, else ``options.assume_units``.

    A file without a header gets the library's own, so a variable counts only when the file's bytes hold it. "px" has
    no meaning in a DXF; as an assumption it stands for mm. Raises UnitsUnknownError when the file does not say and
    nothing may be assumed.
    """
    if options.units is not None:
        return UnitScale(mm_per_unit=_mm(options.units), units_from=f"{options.units}, as said")
    code = document.header.get("$INSUNITS", 0) if b"$INSUNITS" in data else 0
    if code in INSUNITS:
        name, mm_per_unit = INSUNITS[code]
        return UnitScale(mm_per_unit=mm_per_unit, units_from=f"$INSUNITS {code} ({name})")
    hint = ""
    if b"$MEASUREMENT" in data and document.header.get("$MEASUREMENT", 1) == 0:
        hint = " Its $MEASUREMENT hints at inches."
    if options.assume_units is None:
        raise UnitsUnknownError(f"The DXF does not say what its unit is.{hint}", hint="Say whether it is mm or inches.")
    unit = "mm" if options.assume_units == "px" else options.assume_units
    finding = Finding(code="units-assumed", message=f"The DXF does not say what its unit is; {unit} is assumed.{hint}")
    return UnitScale(mm_per_unit=_mm(unit), units_from=f"assumed {unit}", findings=(finding,))


def _mm(unit: str) -> float:
    if unit not in MM_PER_UNIT:
        raise UnreadableError(f"“{unit}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}.")
    return MM_PER_UNIT[unit]
