"""An INSERT as where and how often its block stands."""

import math
from typing import Any

from ezdxf.xclip import XClip

from core.artwork.dxf.colours import entity_colour
from core.artwork.dxf.pieces import BY_BLOCK, BY_LAYER, Insert
from core.artwork.dxf.plain import Plain, PlainInsert
from core.artwork.remarks import Remarks
from core.geometry.affine import Affine, compose, determinant, rotation


def placed_block(entity: Any, plane: Affine, remarks: Remarks) -> Insert:
    """The INSERT of a block that is there; ``plane`` is its own plane seen from above.

    Raises ValueError when it squashes the block to nothing.
    """
    dxf = entity.dxf
    (a, b, _, _), (c, d, _, _), _, (e, f, _, _) = entity.matrix44().rows()
    matrix = (a, b, c, d, e, f)
    if not (all(map(math.isfinite, matrix)) and determinant(matrix) != 0.0):
        raise ValueError("its scale is zero or no number")
    # the grid of copies is turned with the block, but not scaled (ezdxf documentation, Insert.multi_insert)
    turned = compose((*plane[:4], 0.0, 0.0), rotation(dxf.get("rotation", 0.0)))
    column_spacing, row_spacing = dxf.get("column_spacing", 0.0), dxf.get("row_spacing", 0.0)
    return Insert(
        block=dxf.name,
        matrix=matrix,
        rows=dxf.get("row_count", 1) if row_spacing else 1,
        columns=dxf.get("column_count", 1) if column_spacing else 1,
        row_step=(turned[2] * row_spacing, turned[3] * row_spacing),
        column_step=(turned[0] * column_spacing, turned[1] * column_spacing),
        handle=dxf.handle or "",
        clip=_clip(entity, remarks),
        **look_of(entity),
    )


def plain_block(plain: Plain, base_point: tuple[float, float]) -> Insert:
    """The same for one that was read past the library; ``base_point`` is the block's. Raises ValueError likewise."""
    of: PlainInsert = plain.geometry
    angle = math.radians(of.rotation_deg)
    cos, sin = (math.cos(angle), math.sin(angle)) if angle else (1.0, 0.0)
    a, b, c, d = of.x_scale * cos, of.x_scale * sin, -of.y_scale * sin, of.y_scale * cos
    x, y = base_point
    matrix = (a, b, c, d, of.x - (a * x + c * y), of.y - (b * x + d * y))
    if not (all(map(math.isfinite, matrix)) and determinant(matrix) != 0.0):
        raise ValueError("its scale is zero or no number")
    row_step = column_step = (0.0, 0.0)
    if of.row_spacing or of.column_spacing:
        turned = rotation(of.rotation_deg)
        row_step = (turned[2] * of.row_spacing, turned[3] * of.row_spacing)
        column_step = (turned[0] * of.column_spacing, turned[1] * of.column_spacing)
    return Insert(
        block=of.block,
        matrix=matrix,
        rows=of.rows if of.row_spacing else 1,
        columns=of.columns if of.column_spacing else 1,
        row_step=row_step,
        column_step=column_step,
        layer=plain.layer,
        colour=entity_colour(plain.rgb, plain.colour_index),
        linetype=linetype_name(plain.linetype),
        handle=plain.handle,
    )


def look_of(entity: Any) -> dict[str, Any]:
    """Layer, colour and linetype of an entity, as an Insert or a Pen takes them."""
    dxf = entity.dxf
    return {
        "layer": dxf.get("layer", "0"),
        "colour": entity_colour(dxf.get("true_color"), dxf.get("color", 256)),
        "linetype": linetype_name(dxf.get("linetype")),
    }


def linetype_name(name: str | None) -> str:
    """A linetype's name in capitals, BY_LAYER or BY_BLOCK."""
    upper = (name or "BYLAYER").upper()
    return {"BYLAYER": BY_LAYER, "BYBLOCK": BY_BLOCK}.get(upper, upper)


def _clip(entity: Any, remarks: Remarks) -> tuple[tuple[float, float], ...]:
    if not entity.has_extension_dict:
        return ()
    clip = XClip(entity)
    if not (clip.has_clipping_path and clip.is_clipping_enabled):
        return ()
    path = clip.get_block_clipping_path()
    if path.is_inverted_clip:
        remarks.add("dxf-block-clip", "{count} [block|blocks] clipped inside out [is|are] drawn whole.")
        return ()
    return tuple((vertex.x, vertex.y) for vertex in path.vertices)
