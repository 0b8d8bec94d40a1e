"""Pictures of dots inside an SVG: at their place and size, clipped and turned as the file says, traced or screened."""

import base64
import binascii
import re
from urllib.parse import unquote_to_bytes

import numpy as np
import shapely

from core.artwork.drawing import Shape
from core.artwork.pictures.kinds import is_picture
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Drawn, Ink, intersected
from core.artwork.svg.values import view_box_matrix
from core.artwork.svg.workbench import Sink, Workbench
from core.errors import UnreadableError
from core.geometry.affine import Affine, apply, compose, translation

_DATA = re.compile(r"\s*data:([^,;]*)((?:;[^,;]*)*),", re.IGNORECASE)
MOST_BYTES = 100 * 1024 * 1024


def draw_image(bench: Workbench, node: Node, here: Context, sink: Sink) -> None:
    """Hand on what a picture comes to; a finding where it can't be had."""
    if here.measuring or not here.style.visible:
        return
    href = node.attributes.get("href", "")
    data = _bytes_of(href)
    if data is None or not is_picture(data[:32]):
        inside = href.lstrip()[:5].lower() == "data:"
        _say(bench, node, here, "can't be read and was left out" if inside else "lies elsewhere and was left out")
        return
    try:
        shapes, said = _shapes(bench, node, here, data)
    except UnreadableError as error:
        _say(bench, node, here, f"was left out: {error.message.rstrip('.')}")
        return
    way = bench.options.picture.way
    for code, message in said:
        bench.findings.add(code, message, severity="note" if code in _NOTES else "warning")
    _say(bench, node, here, "was traced" if way == "trace" else "is screened", is_done=True)
    clip = here.clip
    if "slice" in node.attributes.get("preserveAspectRatio", ""):
        x, y, width, height = _box(bench, node, here, 1, 1)
        corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
        clip = intersected(clip, shapely.Polygon(apply(here.matrix, corners)))
    for shape in shapes:
        bench.budget.draw(len(shape.path))
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
                opacity=here.opacity,
                layers=here.layers,
                clip=clip,
                masks=here.masks,
                names=(*here.names, *node.names),
                source_id=(here.origin or node).id,
                origin=here.origin or node,
                tones=shape.tones,
            )
        )


_NOTES = ("picture-specks",)


def _shapes(
    bench: Workbench, node: Node, here: Context, data: bytes
) -> tuple[tuple[Shape, ...], list[tuple[str, str]]]:
    from core.artwork.pictures.opening import open_picture
    from core.artwork.pictures.reading import picture_shapes
    from core.artwork.pictures.tones import crop_px, with_tones

    picture = open_picture(data)
    wanted = bench.options.picture
    whole: Affine = compose(here.matrix, _placed(bench, node, here, picture.width_px, picture.height_px))
    left, top, _, _ = crop_px(picture, wanted.tones)
    to_mm = compose(whole, translation(float(left), float(top)))
    shapes, findings = picture_shapes(with_tones(picture, wanted.tones), to_mm, wanted, shape_id="image")
    return shapes, [(finding.code, finding.message) for finding in findings]


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


def _say(bench: Workbench, node: Node, here: Context, what: str, *, is_done: bool = False) -> None:
    x, y, width, height = _box(bench, node, here, 1, 1)
    corners = apply(here.matrix, np.array([[x, y], [x + width, y + height]]))
    wide, high = np.abs(corners[1] - corners[0])
    bench.findings.add(
        "image-taken" if is_done else "image",
        f"{node.name_for_people()} is a picture made of dots, {wide:.1f} x {high:.1f} mm; it {what}.",
        severity="note" if is_done else "warning",
        place_mm=(float(corners[0, 0]), float(corners[0, 1])),
    )
