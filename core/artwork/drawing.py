"""What a reader returns: shapes at their real size in mm, and findings about what could not be read.

Frame: front, y down, origin at the page's top left corner. A Drawing does not know what its shapes are for
(see ``sorting``) nor where it will lie on a sheet.
"""

from dataclasses import dataclass
from typing import Literal

from core.artwork.arrived import ArtworkSource as ArtworkSource
from core.artwork.arrived import ReadOptions as ReadOptions
from core.artwork.arrived import SortOptions as SortOptions
from core.artwork.tone_map import Tones
from core.findings import Finding as Finding
from core.geometry.path import Path
from core.geometry.region import BaseGeometry
from core.geometry.stroke import Stroke


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """One drawn thing: its outline, and how it is painted.

    ``fill`` and ``stroke`` are None where not painted (visible paint only: opaque enough to count).
    ``clip`` is the region, mm, outside which nothing of the shape shows (None: unclipped). ``area`` is set
    instead of an outline's own fill where the reader had to compute the painted region itself (masks, patterns of
    paint); it then replaces fill and stroke regions. ``kind`` is the source's own word (path, circle, LINE, ...).
    ``names``: what the layers and groups it lies in are called, outermost first, then its own classes and title.
    ``source_id``: its id in the file. ``zero_width``: its stroke has width 0 where the format paints nothing then.
    ``drawn_solid``: the file dashes it, in a pattern that is not followed. ``tones``: it is a picture that is screened
    within its outline.
    """

    id: str
    kind: str
    path: Path
    fill: str | None = None
    fill_rule: Literal["nonzero", "evenodd"] = "nonzero"
    stroke: Stroke | None = None
    source_layer: str = ""
    label: str = ""
    clip: BaseGeometry | None = None
    area: BaseGeometry | None = None
    names: tuple[str, ...] = ()
    source_id: str = ""
    is_text: bool = False
    zero_width: bool = False
    drawn_solid: bool = False
    tones: Tones | None = None

    @property
    def is_dashed(self) -> bool:
        """Whether its line is dashed in the file."""
        return self.drawn_solid or (self.stroke is not None and bool(self.stroke.dashes))

    @property
    def look(self) -> tuple[str, str | None, str | None, float | None]:
        """What "all that look like this" compares: source layer, fill, stroke colour, stroke width."""
        width_mm = round(self.stroke.width_mm, 4) if self.stroke else None
        return (self.source_layer, self.fill, self.stroke.colour if self.stroke else None, width_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Something the file holds that is not among the shapes, and why, in words; the place in the drawing's frame.

    ``unreadable``: it could not be read; otherwise the file itself hides it or paints nothing there.
    """

    name: str
    why: str
    unreadable: bool
    count: int = 1
    x_mm: float | None = None
    y_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """An artwork file as read: page size, shapes in painting order (first is undermost), findings.

    ``units_from`` says in words where the size comes from ("width and viewBox", "$INSUNITS 4",
    "assumed 96 px an inch", "--units mm"). ``page_count`` is 1 but for PDF. from_export: the file was exported by
    Tain, has been turned back to the front, and its shapes' source layers are layer ids. ``missing``: what of the file
    is not among the shapes. ``marked_units_an_inch``: what the marks of the program that wrote the file speak of.
    """

    width_mm: float
    height_mm: float
    units_from: str
    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...] = ()
    page_count: int = 1
    from_export: bool = False
    missing: tuple[Missing, ...] = ()
    marked_units_an_inch: int | None = None
