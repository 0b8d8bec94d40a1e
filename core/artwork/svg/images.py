"""Pictures of dots inside an SVG: at their place and size, clipped and turned as the file says, traced or screened."""

import base64
import binascii
import re
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import unquote_to_bytes

import numpy as np
import shapely

from core.artwork.drawing import Shape
from core.artwork.picture_decisions import TraceOptions
from core.artwork.picture_kinds import is_picture
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Drawn, Ink, intersected
from core.artwork.svg.values import view_box_matrix
from core.artwork.svg.workbench import Sink, Workbench
from core.errors import UnreadableError
from core.geometry.affine import Affine, apply, compose, translation
from core.geometry.path import EMPTY, joined, polyline

if TYPE_CHECKING:
    from core.artwork.pictures.opening import Picture

_DATA = re.compile(r"\s*data:([^,;]*)((?:;[^,;]*)*),", re.IGNORECASE)
MOST_BYTES = 100 * 1024 * 1024


def draw_image(bench: Workbench, node: Node, here: Context, sink: Sink) -> None:
    """Hand on what a picture comes to; a finding where it can't be had."""
    if here.measuring:
        sink(_frame(bench, node, here))
        return
    if not here.style.visible:
        return
    href = node.attributes.get("href", "")
    data = _bytes_of(href)
    if data is None or not is_picture(data[:32]):
        inside = href.lstrip()[:5].lower() == "data:"
        _say(bench, node, here, "can't be read and was left out" if inside else "lies elsewhere and was left out")
        return
    from core.artwork.svg.fading_pictures import faded, shown_at_all

    try:
        shapes, said, px = _shapes(bench, node, here, data)
    except UnreadableError as error:
        _say(bench, node, here, f"was left out: {error.message.rstrip('.')}")
        return
    way = "mask" if here.masking else bench.options.picture.way
    for code, message in said:
        bench.findings.add(code, message, severity="note" if code in _NOTES else "warning")
    _say(bench, node, here, _DONE[way], is_done=True, px=px)
    clip = here.clip
    if "slice" in node.attributes.get("preserveAspectRatio", ""):
        x, y, width, height = _box(bench, node, here, *px)
        corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
        clip = intersected(clip, shapely.Polygon(apply(here.matrix, corners)))
    for shape in shapes:
        bench.budget.draw(len(shape.path))
        tones, opacity, layers, masks = shape.tones, here.opacity, here.layers, here.masks
        if tones is not None and opacity < 1.0:  # fainter tones bare less; no half decides about them
            tones = replace(tones, wanted=tones.wanted * np.float32(opacity))
            opacity, layers = 1.0, tuple(one for one in layers if one.mask is not None)
        soft = [mask for mask in masks if mask.is_soft]
        if tones is not None and soft:
            tones = faded(tones, soft)
            for mask in soft:
                clip = intersected(clip, shown_at_all(mask))
            layers = tuple(one for one in layers if one.mask not in soft)
            masks = tuple(mask for mask in masks if mask not in soft)
        colour = shape.fill or "#000000"
        red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
        sink(
            Drawn(
                kind="image",
                label=here.label or node.label,
                source_layer=here.source_layer,
                path=shape.path,
                fill_rule="evenodd",
                fill=Ink(colour=(red, green, blue, 1.0)),
                opacity=opacity,
                layers=layers,
                clip=clip,
                masks=masks,
                names=(*here.names, *node.names),
                source_id=(here.origin or node).id,
                origin=here.origin or node,
                tones=tones,
            )
        )


def _frame(bench: Workbench, node: Node, here: Context) -> Drawn:
    """What a picture counts as where bounds are measured (for masks, filters, gradients): its box, and no outline."""
    x, y, width, height = _box(bench, node, here, 1, 1)
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    box = polyline(apply(here.matrix, corners), closed=True)
    return Drawn(kind="image", label="", source_layer=here.source_layer, path=EMPTY, cell=box)


_DONE = {
    "trace": "was traced",
    "screen": "is screened",
    "mask": "masks, and lets through what it does by half or more",
}
_NOTES = ("picture-specks",)


def _shapes(
    bench: Workbench, node: Node, here: Context, data: bytes
) -> tuple[tuple[Shape, ...], list[tuple[str, str]], tuple[int, int]]:
    """What a picture comes to, what is said of it, (code, message), and its size in dots."""
    from core.artwork.pictures.opening import open_picture
    from core.artwork.pictures.reading import picture_shapes
    from core.artwork.pictures.tones import crop_px, with_tones

    picture = open_picture(data)
    px = (picture.width_px, picture.height_px)
    wanted = bench.options.picture
    if here.masking:
        to_mm = compose(here.matrix, _placed(bench, node, here, *px))
        return _let_through(picture, to_mm, by_alpha=here.masking == "alpha"), [], px
    whole: Affine = compose(here.matrix, _placed(bench, node, here, *px))
    left, top, _, _ = crop_px(picture, wanted.tones)
    to_mm = compose(whole, translation(float(left), float(top)))
    shapes, findings = picture_shapes(
        with_tones(picture, wanted.tones, screened=wanted.way == "screen"), to_mm, wanted, shape_id="image"
    )
    return shapes, [(finding.code, finding.message) for finding in findings], px


def _let_through(picture: "Picture", to_mm: Affine, *, by_alpha: bool) -> tuple[Shape, ...]:
    """The outline of what a picture in a mask lets through by half or more, by its light or its alpha alone."""
    from core.artwork.pictures.tracing import traced

    opaque = np.ones(picture.grey.shape, np.float32) if picture.alpha is None else picture.alpha
    # the grey is that on white ground: what shines through the picture itself is less
    through = opaque if by_alpha else picture.grey / np.float32(255) - (1 - opaque)
    if np.ptp(through) < 1 / 255:
        if through.flat[0] < 0.5:
            return ()
        height, width = picture.height_px, picture.width_px
        path = polyline(np.array([[0, 0], [width, 0], [width, height], [0, height]], float), closed=True)
    else:
        darkness = replace(picture, grey=np.ascontiguousarray(255 * (1 - through), np.float32), alpha=None)
        path = joined([one.path for one in traced(darkness, TraceOptions(threshold=127.5), least_px=0.0)])
    shape = Shape(id="image", kind="picture", path=path.transformed(to_mm), fill="#ffffff", fill_rule="evenodd")
    return (shape,)


def _placed(bench: Workbench, node: Node, here: Context, width_px: int, height_px: int) -> Affine:
    """The picture's pixels in user units (SVG 2, 12.3; 8.6 for preserveAspectRatio)."""
    x, y, width, height = _box(bench, node, here, width_px, height_px)
    whole = (0.0, 0.0, float(width_px), float(height_px))
    fit = view_box_matrix(whole, width, height, node.attributes.get("preserveAspectRatio"))
    return compose(translation(x, y), fit)


def _box(
    bench: Workbench, node: Node, here: Context, width_px: int, height_px: int
) -> tuple[float, float, float, float]:
    outlines, style, viewport = bench.outlines, here.style, here.viewport
    x, y = outlines.x(node, "x", style, viewport), outlines.y(node, "y", style, viewport)
    width, height = outlines.x(node, "width", style, viewport), outlines.y(node, "height", style, viewport)
    ratio = width_px / height_px
    if width <= 0 and height <= 0:
        return x, y, float(width_px), float(height_px)
    return x, y, width if width > 0 else height * ratio, height if height > 0 else width / ratio


def _bytes_of(href: str) -> bytes | None:
    """The bytes that a data URL holds (RFC 2397); None for all else."""
    found = _DATA.match(href)
    if found is None or len(href) > 2 * MOST_BYTES:
        return None
    body = href[found.end() :]
    if "base64" not in found[2].lower():
        return unquote_to_bytes(body)
    try:
        return base64.b64decode(unquote_to_bytes("".join(body.split())), validate=False)
    except (binascii.Error, ValueError):
        return b""


def _say(
    bench: Workbench, node: Node, here: Context, what: str, *, is_done: bool = False, px: tuple[int, int] | None = None
) -> None:
    """px: its size in dots; where neither that nor the file says how large it is, nothing is said of that."""
    outlines, style, viewport = bench.outlines, here.style, here.viewport
    given = min(outlines.x(node, "width", style, viewport), outlines.y(node, "height", style, viewport)) > 0
    x, y, width, height = _box(bench, node, here, *(px or (1, 1)))
    corners = apply(here.matrix, np.array([[x, y], [x + width, y + height]]))
    wide, high = np.abs(corners[1] - corners[0])
    size = f", {wide:.1f} x {high:.1f} mm" if given or px is not None else ""
    bench.findings.add(
        "image-taken" if is_done else "image",
        f"{node.name_for_people()} is a picture made of dots{size}; it {what}.",
        severity="note" if is_done else "warning",
        place_mm=(float(corners[0, 0]), float(corners[0, 1])),
    )
