"""Filter primitives on pictures of cells (Filter Effects 1): each takes and gives premultiplied RGBA, (h, w, 4).

Cells are square or nearly so, many to the smallest thing that a filter does; what comes out is paint that varies.
"""

import math
from collections.abc import Callable

import numpy as np

from core.artwork.svg.colours import Rgba
from core.geometry.path import Floats

_LUMINANCE = (0.2126, 0.7152, 0.0722)


def over(upper: Floats, lower: Floats) -> Floats:
    """One picture on another."""
    result: Floats = upper + lower * (1 - upper[..., 3:])
    return result


def flooded(shape: tuple[int, int], colour: Rgba) -> Floats:
    """One colour everywhere."""
    red, green, blue, alpha = colour
    result: Floats = np.broadcast_to(np.array([red * alpha, green * alpha, blue * alpha, alpha]), (*shape, 4)).copy()
    return result


def blurred(picture: Floats, deviation_x: float, deviation_y: float) -> Floats:
    """feGaussianBlur; deviations in cells."""
    across, down = _kernel(picture.shape[1], deviation_x), _kernel(picture.shape[0], deviation_y)
    result = picture
    if down is not None:
        result = np.einsum("ij,jkc->ikc", down, result, optimize=True)
    if across is not None:
        result = np.einsum("ij,kjc->kic", across, result, optimize=True)
    return result


def _kernel(count: int, deviation: float) -> Floats | None:
    if deviation < 1e-3:
        return None
    at = np.arange(count)
    rest = math.sqrt(max(deviation**2 - 1 / 12, 1e-4))  # a cell is an average already
    weights: Floats = np.exp(-0.5 * ((at[:, None] - at[None, :]) / rest) ** 2)
    reach = np.arange(-count, count + 1)
    weights /= float(np.exp(-0.5 * (reach / rest) ** 2).sum())
    return weights


def moved(picture: Floats, dx: float, dy: float) -> Floats:
    """feOffset; by parts of cells too, straight between them."""
    for axis, distance in ((1, dx), (0, dy)):
        whole = math.floor(distance)
        share = distance - whole
        picture = _shifted(picture, whole, axis) * (1 - share) + _shifted(picture, whole + 1, axis) * share
    return picture


def _shifted(picture: Floats, cells: int, axis: int) -> Floats:
    result = np.zeros_like(picture)
    count = picture.shape[axis]
    if abs(cells) < count:
        to, source = [slice(None)] * 3, [slice(None)] * 3
        to[axis] = slice(max(cells, 0), count + min(cells, 0))
        source[axis] = slice(max(-cells, 0), count - max(cells, 0))
        result[tuple(to)] = picture[tuple(source)]
    return result


def recoloured(picture: Floats, matrix: Floats) -> Floats:
    """feColorMatrix: ``matrix`` (4, 5) on colours that are not premultiplied."""
    colours = _plain(picture)
    changed = colours @ matrix[:, :4].T + matrix[:, 4]
    return _premultiplied(np.clip(changed, 0, 1))


def transferred(picture: Floats, functions: tuple[Callable[[Floats], Floats] | None, ...]) -> Floats:
    """feComponentTransfer: a function for each of red, green, blue and alpha, or None."""
    colours = _plain(picture).copy()
    for channel, function in enumerate(functions):
        if function is not None:
            colours[..., channel] = np.clip(function(colours[..., channel]), 0, 1)
    return _premultiplied(colours)


def composited(upper: Floats, lower: Floats, operator: str, k: tuple[float, float, float, float]) -> Floats:
    """feComposite."""
    a, b = upper[..., 3:], lower[..., 3:]
    if operator == "in":
        return upper * b
    if operator == "out":
        return upper * (1 - b)
    if operator == "atop":
        result: Floats = upper * b + lower * (1 - a)
        return result
    if operator == "xor":
        return upper * (1 - b) + lower * (1 - a)
    if operator == "arithmetic":
        sums = np.clip(k[0] * upper * lower + k[1] * upper + k[2] * lower + k[3], 0, 1)
        sums[..., :3] = np.minimum(sums[..., :3], sums[..., 3:])
        return sums
    return over(upper, lower)


def blended(upper: Floats, lower: Floats, mode: str) -> Floats:
    """feBlend; modes beyond those of SVG 1.1 count as normal in colour, which leaves the opacity right."""
    a, b = upper[..., 3:], lower[..., 3:]
    result = over(upper, lower)
    top, under = upper[..., :3], lower[..., :3]
    if mode == "multiply":
        result[..., :3] = top * (1 - b) + under * (1 - a) + top * under
    elif mode == "screen":
        result[..., :3] = top + under - top * under
    elif mode == "darken":
        result[..., :3] = np.minimum(top + under * (1 - a), under + top * (1 - b))
    elif mode == "lighten":
        result[..., :3] = np.maximum(top + under * (1 - a), under + top * (1 - b))
    return result


def grown(picture: Floats, radius_x: float, radius_y: float, *, shrink: bool) -> Floats:
    """feMorphology; radii in cells, taken to whole ones."""
    for axis, radius in ((1, round(radius_x)), (0, round(radius_y))):
        if radius < 1:
            continue
        pad = [(0, 0)] * 3
        pad[axis] = (radius, radius)
        windows = np.lib.stride_tricks.sliding_window_view(np.pad(picture, pad), 2 * radius + 1, axis=axis)
        picture = windows.min(axis=-1) if shrink else windows.max(axis=-1)
    return picture


def only_alpha(picture: Floats) -> Floats:
    """SourceAlpha: black as opaque as the picture."""
    result = np.zeros_like(picture)
    result[..., 3] = picture[..., 3]
    return result


def to_linear(picture: Floats) -> Floats:
    """sRGB to linear RGB (IEC 61966-2-1)."""
    colours = _plain(picture).copy()
    rgb = colours[..., :3]
    colours[..., :3] = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return _premultiplied(colours)


def to_srgb(picture: Floats) -> Floats:
    """Linear RGB to sRGB."""
    colours = _plain(picture).copy()
    rgb = np.clip(colours[..., :3], 0, 1)
    colours[..., :3] = np.where(rgb <= 0.0031308, rgb * 12.92, 1.055 * rgb ** (1 / 2.4) - 0.055)
    return _premultiplied(colours)


def colour_matrix(kind: str, values: list[float]) -> Floats | None:
    """The matrix of an feColorMatrix; None where its values make no sense."""
    identity: Floats = np.eye(4, 5)
    red, green, blue = _LUMINANCE
    if kind == "matrix":
        if not values:
            return identity
        return np.array(values, float).reshape(4, 5) if len(values) == 20 else None
    if kind == "saturate":
        s = values[0] if values else 1.0
        if s < 0:
            return None
        grey = np.array([[0.213, 0.715, 0.072]] * 3)
        identity[:3, :3] = grey + s * (np.eye(3) - grey)
        return identity
    if kind == "hueRotate":
        turn = math.radians(values[0] if values else 0.0)
        base = np.array([[0.213, 0.715, 0.072]] * 3)
        cosine = np.array([[0.787, -0.715, -0.072], [-0.213, 0.285, -0.072], [-0.213, -0.715, 0.928]])
        sine = np.array([[-0.213, -0.715, 0.928], [0.143, 0.140, -0.283], [-0.787, 0.715, 0.072]])
        identity[:3, :3] = base + math.cos(turn) * cosine + math.sin(turn) * sine
        return identity
    if kind == "luminanceToAlpha":
        result: Floats = np.zeros((4, 5))
        result[3, :3] = (red, green, blue)
        return result
    return None


def _plain(picture: Floats) -> Floats:
    """Colours as they are where opaque."""
    alpha = picture[..., 3:]
    safe = np.where(alpha > 1e-9, alpha, 1.0)
    result: Floats = np.concatenate([picture[..., :3] / safe, alpha], axis=-1)
    return result


def _premultiplied(colours: Floats) -> Floats:
    result: Floats = np.concatenate([colours[..., :3] * colours[..., 3:], colours[..., 3:]], axis=-1)
    return result
