"""A picture file to a Drawing: outlines where it is traced, one shape with its tones where it is to be screened."""

import numpy as np

from core.artwork.drawing import Drawing, Finding, ReadOptions, Shape
from core.artwork.picture_decisions import LEAST_WIDTH_MM, BaredIs, PictureOptions
from core.artwork.pictures.opening import Picture, open_picture
from core.artwork.pictures.tones import with_tones
from core.artwork.pictures.tracing import Traced, traced
from core.artwork.tone_map import Tones
from core.errors import UnitsUnknownError, UnreadableError
from core.geometry.affine import Affine, apply
from core.geometry.path import Path, polyline
from core.progress import Progress, part, silent
from core.units import MM_PER_INCH

MOST_SHAPES = 1_500
_LEAST_PX = 3


def read_picture(data: bytes, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """The picture as shapes in mm, its cropped part's top left at the origin.

    Raises UnreadableError for what can't be decoded or holds nothing, UnitsUnknownError where neither the file nor
    ``options`` says how large it is.
    """
    wanted = options.picture
    wanted.check()
    progress(0.0, "opening the picture")
    picture = open_picture(data)
    if min(picture.width_px, picture.height_px) < _LEAST_PX:
        raise UnreadableError(
            f"The picture is {picture.width_px:,} x {picture.height_px:,} pixels: too small to be anything.",
            hint="Ask for it larger.",
        )
    mm_x, mm_y, units_from = _pixel_size_mm(picture, options)
    to_mm: Affine = (mm_x, 0.0, 0.0, mm_y, 0.0, 0.0)
    shown = with_tones(picture, wanted.tones, screened=wanted.way == "screen")
    if wanted.way == "screen" and np.ptp(shown.grey) < 1.0 and shown.alpha is None:
        raise UnreadableError(
            "The picture is all one tone: there is nothing to screen.", hint="Set its tones otherwise, or fill a shape."
        )
    shapes, findings = picture_shapes(shown, to_mm, wanted, shape_id="picture", progress=part(progress, 0.2, 1.0))
    return Drawing(
        width_mm=shown.width_px * mm_x,
        height_mm=shown.height_px * mm_y,
        units_from=units_from,
        shapes=shapes,
        findings=findings,
    )


def picture_shapes(
    picture: Picture, to_mm: Affine, wanted: PictureOptions, *, shape_id: str, progress: Progress = silent
) -> tuple[tuple[Shape, ...], tuple[Finding, ...]]:
    """The shapes of a picture whose tones are set, ``to_mm`` mapping its pixels into the drawing."""
    px_mm = float(np.sqrt(abs(to_mm[0] * to_mm[3] - to_mm[1] * to_mm[2])))
    if wanted.way == "screen":
        tones = wanted_tones(picture, to_mm, bared_is=wanted.bared_is)
        return (_screened_shape(picture, tones, shape_id),), _look_asked(wanted, shape_id)
    least_mm = LEAST_WIDTH_MM if wanted.trace.least_mm is None else wanted.trace.least_mm
    layers = traced(picture, wanted.trace, least_px=least_mm / px_mm, progress=progress)
    shapes: list[Shape] = []
    for layer in layers:
        name = shape_id if len(layers) == 1 else f"{shape_id}.{layer.colour[1:]}"
        shapes += _traced_shapes(layer, to_mm, name)
    return tuple(shapes), (*_dropped(layers, least_mm), *_coarse(px_mm))


def _pixel_size_mm(picture: Picture, options: ReadOptions) -> tuple[float, float, str]:
    """Width and height of a pixel, and where they come from."""
    if options.picture.width_mm is not None:
        square = 1.0 if picture.dpi is None else picture.dpi[0] / picture.dpi[1]
        mm = options.picture.width_mm / picture.width_px
        return mm, mm * square, "the width asked for"
    if picture.dpi is not None:
        across, down = picture.dpi
        said = f"{across:.0f}" if round(across) == round(down) else f"{across:.0f} x {down:.0f}"
        return MM_PER_INCH / across, MM_PER_INCH / down, f"the file's {said} dots an inch"
    raise UnitsUnknownError("The picture does not say how large it is.", hint="Give its width: --width-mm 120.")


def _traced_shapes(layer: Traced, to_mm: Affine, name: str) -> list[Shape]:
    path = layer.path.transformed(to_mm)
    if len(layer.parts) == 1 or len(layer.parts) > MOST_SHAPES:
        return [Shape(id=name, kind="picture", path=path, fill=layer.colour, fill_rule="evenodd", label="traced")]
    stops = np.append(layer.parts[1:], len(path.starts))
    shapes = []
    for number, (first, stop) in enumerate(zip(layer.parts.tolist(), stops.tolist(), strict=True), 1):
        own = _some_subpaths(path, first, stop)
        shapes.append(
            Shape(
                id=f"{name}.{number}", kind="picture", path=own, fill=layer.colour, fill_rule="evenodd", label="traced"
            )
        )
    return shapes


def _some_subpaths(path: Path, first: int, stop: int) -> Path:
    span = slice(path.starts[first], path.stops[stop - 1])
    return Path(
        kinds=path.kinds[span],
        segments=path.segments[span],
        starts=path.starts[first:stop] - path.starts[first],
        closed=path.closed[first:stop],
    )


def _screened_shape(picture: Picture, tones: Tones, shape_id: str) -> Shape:
    width, height = picture.width_px, picture.height_px
    corners = apply(tones.to_mm, np.array([[0, 0], [width, 0], [width, height], [0, height]], float))
    return Shape(
        id=shape_id,
        kind="picture",
        path=polyline(corners, closed=True),
        fill="#808080",
        label="screened",
        tones=tones,
    )


def wanted_tones(picture: Picture, to_mm: Affine, *, bared_is: BaredIs | None) -> Tones:
    """The bared share that a picture's greys ask for, the tone value of the file's numbers: where bared looks light,
    white is all bared; otherwise black is. What is transparent is not bared."""
    light = picture.grey / np.float32(255)
    wanted = light if bared_is == "light" else 1 - light
    if picture.alpha is not None:
        wanted = wanted * picture.alpha
    return Tones(wanted=np.ascontiguousarray(np.clip(wanted, 0, 1), np.float32), to_mm=to_mm)


def _look_asked(wanted: PictureOptions, shape_id: str) -> tuple[Finding, ...]:
    if wanted.bared_is is not None:
        return ()
    message = (
        "How will what is bared look: light, paint, or dark behind a mirror? Dark is assumed: dark tones are bared."
    )
    return (Finding(code="picture-look", message=message, shape_ids=(shape_id,)),)


def _dropped(layers: tuple[Traced, ...], least_mm: float) -> tuple[Finding, ...]:
    specks, holes = sum(layer.specks for layer in layers), sum(layer.holes for layer in layers)
    if not specks + holes:
        return ()
    told = " and ".join(
        f"{count:,} {word if count == 1 else word + 's'}"
        for count, word in ((specks, "speck"), (holes, "hole"))
        if count
    )
    message = f"{told} of the picture under {least_mm:.2g} mm, which no line clears as drawn, dropped."
    return (Finding(code="picture-specks", message=message, severity="note"),)


def _coarse(px_mm: float) -> tuple[Finding, ...]:
    """What a picture of so few dots an inch is too coarse for."""
    dpi = MM_PER_INCH / px_mm
    if dpi >= 100:
        return ()
    message = f"The picture has {dpi:.0f} dots an inch at this size: edges show steps of up to {px_mm:.2g} mm."
    return (Finding(code="picture-coarse", message=message),)
