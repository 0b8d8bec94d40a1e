"""A coupon, or another labelled test piece, as an ordinary job: its artwork, and a layer for each recipe on it."""

import colorsys
from xml.sax.saxutils import quoteattr

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import read_artwork
from core.burning.patches import BurnedPiece, Patch
from core.burning.row_combs import PAIRS, bars_of_comb, lines_of_comb
from core.burning.score_letters import text_path
from core.geometry.affine import IDENTITY, Affine
from core.geometry.flattening import flatten
from core.geometry.path import Path, joined
from core.job.job import Job, Layer
from core.sheet.faces import turn_matrix
from core.sheet.placement import Placement, Sheet
from core.sheet.recipes import Recipe

LABELS = "labels"
_GOLDEN_TURN = 0.618034
_LONG_LINE_MM = 0.8


def coupon_job(coupon: BurnedPiece, *, called: str = "coupon") -> Job:
    """The job that burns the piece at its own size: patches first, then labels, cuts last. called: what it is."""
    source = coupon_artwork(coupon, called=called)
    shapes = read_artwork(source, ReadOptions()).shapes
    layers = [*(_layer_of(coupon, patch) for patch in coupon.patches), LABELS]  # in the order they are drawn
    return Job(
        source=source,
        overrides=tuple(sorted((shape.id, layer) for shape, layer in zip(shapes, layers, strict=True))),
        layers=_layers(coupon),
        sheet=_sheet(coupon),
        stock=coupon.stock,
        machine=coupon.machine,
        turn=coupon.turn,
        placement=Placement(centred=False),
    )


def coupon_artwork(coupon: BurnedPiece, *, called: str = "coupon") -> ArtworkSource:
    """The piece drawn as SVG in the front frame, in mm; labels for the back are turned with everything else."""
    to_front = _to_front(coupon)
    colour_of = {layer.id: layer.colour for layer in _layers(coupon)}
    size = f'width="{coupon.width_mm:g}mm" height="{coupon.height_mm:g}mm"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {coupon.width_mm:g} {coupon.height_mm:g}">',
        f"<title>{called.capitalize()} {coupon.code}</title>",
    ]
    for patch in coupon.patches:
        paint = _paint(colour_of[_layer_of(coupon, patch)], filled=patch.purpose == "fill")
        lines.append(f'<path id="{_patch_id(patch)}" {paint} d="{_rectangle(patch, to_front)}"/>')
    ticks = " ".join(_comb_lines(patch, to_front) for patch in coupon.patches if patch.comb_step_mm)
    text = joined([text_path(label.text, height_mm=label.height_mm, matrix=(1.0, 0.0, 0.0, 1.0, label.x_mm, label.y_mm))
                   for label in coupon.labels])  # fmt: skip
    lines.append(
        f'<path id="{LABELS}" {_paint(colour_of[LABELS], filled=False)} d="{_strokes(text, to_front)} {ticks}"/>'
    )
    lines.append("</svg>")
    return ArtworkSource(name=f"{called}-{coupon.code}.svg", data="\n".join(lines).encode())


def _sheet(coupon: BurnedPiece) -> Sheet:
    return Sheet(width_mm=coupon.width_mm, height_mm=coupon.height_mm, thickness_mm=coupon.stock.thickness_mm)


def _to_front(coupon: BurnedPiece) -> Affine:
    """The frame the coupon is read in to the front frame."""
    return turn_matrix(coupon.turn, _sheet(coupon)) if coupon.read_from == "back" else IDENTITY


def _patch_id(patch: Patch) -> str:
    return f"patch-{patch.label}"


def _layer_of(coupon: BurnedPiece, patch: Patch) -> str:
    """Patches burned alike share the layer of the first of them."""
    for first in coupon.patches:
        if (first.purpose, first.recipe) == (patch.purpose, patch.recipe):
            return f"layer-{first.label}"
    raise AssertionError("a patch of another coupon")


def _layers(coupon: BurnedPiece) -> tuple[Layer, ...]:
    """Fills, the labels' score, cuts; a colour of its own for each, so that receiving software can tell them apart."""
    alike: dict[tuple[str, Recipe], Patch] = {}
    for patch in coupon.patches:
        alike.setdefault((patch.purpose, patch.recipe), patch)
    ordered = sorted(alike.values(), key=lambda patch: patch.purpose == "cut")
    layers = [
        Layer(
            id=f"layer-{patch.label}",
            name=f"{patch.label} {patch.caption}",
            purpose=patch.purpose,
            recipe=patch.recipe,
            colour=_colour(index),
        )
        for index, patch in enumerate(ordered)
    ]
    labels = Layer(id=LABELS, name="Labels", purpose="score", recipe=coupon.stock.score, colour="#000000")
    cuts = [layer for layer in layers if layer.purpose == "cut"]
    return (*(layer for layer in layers if layer.purpose != "cut"), labels, *cuts)


def _colour(index: int) -> str:
    """Hues a golden turn apart, lightness in three steps: no two of them alike among dozens."""
    red, green, blue = colorsys.hls_to_rgb(index * _GOLDEN_TURN % 1.0, (0.35, 0.5, 0.65)[index % 3], 0.75)
    return f"#{round(red * 255):02x}{round(green * 255):02x}{round(blue * 255):02x}"


def _paint(colour: str, *, filled: bool) -> str:
    return f"fill={quoteattr(colour)}" if filled else f'fill="none" stroke={quoteattr(colour)} stroke-width="0.1"'


def _rectangle(patch: Patch, matrix: Affine) -> str:
    y0, y1 = patch.y_mm, patch.y_mm + patch.height_mm
    bars = [(patch.x_mm, patch.x_mm + patch.width_mm)]
    if patch.comb_step_mm:
        bars = list(bars_of_comb(patch.x_mm, patch.width_mm, patch.comb_step_mm))
    drawn = []
    for x0, x1 in bars:
        corners = [_mapped(matrix, *corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        drawn.append("M" + " L".join(corners) + " Z")
    return " ".join([*drawn, *_partings(patch, matrix)])


def _comb_lines(patch: Patch, matrix: Affine) -> str:
    """The scored lines in the gaps of a comb; that of the middle reaches above the rows."""
    lines = []
    for number, x in enumerate(lines_of_comb(patch.x_mm, patch.width_mm)):
        above = _LONG_LINE_MM if number == PAIRS // 2 else 0.0
        ends = (patch.y_mm - above, patch.y_mm + patch.height_mm)
        lines.append(f"M{_mapped(matrix, x, ends[0])} L{_mapped(matrix, x, ends[1])}")
    return " ".join(lines)


def _partings(patch: Patch, matrix: Affine) -> list[str]:
    """The cuts between strips, from edge to edge."""
    steps = [patch.x_mm + patch.width_mm * k / patch.strips for k in range(1, patch.strips)]
    ends = (patch.y_mm, patch.y_mm + patch.height_mm)
    return [f"M{_mapped(matrix, x, ends[0])} L{_mapped(matrix, x, ends[1])}" for x in steps]


def _strokes(path: Path, matrix: Affine) -> str:
    return " ".join("M" + " L".join(_mapped(matrix, x, y) for x, y in part) for part in flatten(path).parts())


def _mapped(matrix: Affine, x: float, y: float) -> str:
    a, b, c, d, e, f = matrix
    return f"{a * x + c * y + e:.6g} {b * x + d * y + f:.6g}"
