"""What reading a page has gathered so far: shapes, remarks, and what was set aside with a remark."""

from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding, Missing, Shape
from core.artwork.picture_decisions import PictureOptions
from core.artwork.remarks import Remarks
from core.artwork.tone_map import Tones
from core.geometry.affine import IDENTITY, Affine
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import Path
from core.geometry.stroke import Stroke

MAX_SEGMENTS = 3_000_000

_UNREADABLE = frozenset({"pdf-bad-object", "pdf-too-deep", "pdf-too-large", "pdf-text", "pdf-image"})
_LEFT_OUT = frozenset({"pdf-hidden"})
"""Codes of what the page has and could not be read, and of what the page itself hides."""


@dataclass(slots=True, kw_only=True)
class Found:
    """Shared by all that reads one page. to_mm: from the page's user space to the drawing's frame.

    set_aside: PDFium's objects that were left out, or painted otherwise than in the file, with a finding that
    says so; approximate: the indices of the shapes that stand for them. picture: how pictures of dots are taken, None
    where they are not (in glyphs).
    """

    tolerance_mm: float
    to_mm: Affine = IDENTITY
    page_area: BaseGeometry = field(default_factory=shapely.Polygon)
    shapes: list[Shape] = field(default_factory=list)
    remarks: Remarks = field(default_factory=Remarks)
    set_aside: list[object] = field(default_factory=list)
    approximate: set[int] = field(default_factory=set)
    room: int = MAX_SEGMENTS
    picture: PictureOptions | None = None

    def takes(self, segments: int) -> bool:
        """Whether so many more segments may be read; says so where not."""
        if segments > self.room:
            self.remarks.add("pdf-too-large", "{count} [object was|objects were] left out: the page is too large.")
            return False
        self.room -= segments
        return True

    def add(
        self,
        kind: str,
        path: Path,
        *,
        fill: str | None = None,
        stroke: Stroke | None = None,
        clip: BaseGeometry | None = None,
        evenodd: bool = False,
        area: BaseGeometry | None = None,
        tones: Tones | None = None,
    ) -> None:
        """One more shape, in mm; its clip is dropped where it hides nothing. Raises ValueError for wild numbers."""
        if not len(path):
            return
        if not np.isfinite(path.segments).all():
            raise ValueError("coordinates that are no numbers")
        if clip is not None and area is None:
            reach = stroke.width_mm * max(stroke.miter_limit, 1.0) if stroke else 0.0
            x0, y0, x1, y1 = path_bounds_mm(path)
            if clip.covers(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)):
                clip = None
        self.shapes.append(
            Shape(
                id=f"o{len(self.shapes)}",
                kind=kind,
                path=path,
                fill=fill,
                fill_rule="evenodd" if evenodd else "nonzero",
                stroke=stroke,
                clip=clip,
                area=area,
                is_text=kind == "text",
                tones=tones,
            )
        )

    def missing(self) -> tuple[Missing, ...]:
        """What of the page is not among the shapes, in the drawing's frame."""
        return tuple(
            missing if place is None else replace(missing, x_mm=place[0], y_mm=place[1])
            for missing, place in self.remarks.missing(_LEFT_OUT, _UNREADABLE)
        )

    def findings(self) -> tuple[Finding, ...]:
        """The remarks as findings, in the drawing's frame."""
        return tuple(
            finding if place is None else replace(finding, x_mm=place[0], y_mm=place[1])
            for finding, place in self.remarks.findings()
        )
