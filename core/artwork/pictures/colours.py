"""A picture as a few flat colours: the palette from its flat parts, and for each colour a field that is below zero
where that colour is nearest. Along an edge between two colours the field passes zero where the pixels are half one and
half the other, so the edge's place is known to parts of a pixel."""

import numpy as np
import scipy
from numpy.typing import NDArray
from PIL import Image

from core.artwork.pictures.contouring import Field
from core.artwork.pictures.opening import Picture
from core.errors import UnreadableError

_FLAT = 24
_NEAR_PX = 5
_FAR = np.float32(1e3)
_WHITE = 240
_LEAST_SHARE = 5e-5


def colour_fields(picture: Picture, count: int) -> list[tuple[Field, str]]:
    """(field, "#rrggbb") for each colour but white and what is transparent, lightest first."""
    rgb = picture.rgb
    if picture.alpha is not None:
        alpha = picture.alpha[..., None]
        rgb = np.round(rgb * alpha + 255 * (1 - alpha)).astype(np.uint8)
    if int(np.ptp(rgb.reshape(-1, 3), axis=0).max()) < 12:
        raise _all_one()
    flat = _flat(rgb)
    palette = _palette(rgb, flat, count)
    if len(palette) < 2:
        raise _all_one()
    exact = rgb.astype(np.float32)
    distance = np.stack([np.linalg.norm(exact - colour, axis=2) for colour in palette.astype(np.float32)])
    nearest = distance.argmin(axis=0)
    for number in range(len(palette)):
        # where two colours blend, a third may look nearest: it counts only where it is flat close by
        close = scipy.ndimage.maximum_filter(flat & (nearest == number), size=_NEAR_PX)
        distance[number][~close] = _FAR
    fields = []
    for number, colour in enumerate(palette.tolist()):
        if min(colour) >= _WHITE:
            continue
        others = np.delete(distance, number, axis=0).min(axis=0)
        fields.append((np.clip(distance[number] - others, -_FAR, _FAR), colour))
    fields.sort(key=lambda one: -sum(one[1]))
    return [(field, f"#{r:02x}{g:02x}{b:02x}") for field, (r, g, b) in fields]


def _all_one() -> UnreadableError:
    return UnreadableError("The picture is all one colour: there is nothing to trace.", hint="Ask for it again.")


def _flat(rgb: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Pixels whose neighbours are of about their colour; all of them where a picture has no flat parts."""
    spread = np.zeros(rgb.shape[:2], np.int16)
    for channel in range(3):
        plane = rgb[..., channel]
        own = scipy.ndimage.maximum_filter(plane, size=3).astype(np.int16) - scipy.ndimage.minimum_filter(plane, size=3)
        spread = np.maximum(spread, own)
    flat: NDArray[np.bool_] = spread <= _FLAT
    return flat if flat.mean() > 0.02 else np.ones_like(flat)


def _palette(rgb: NDArray[np.uint8], flat: NDArray[np.bool_], count: int) -> NDArray[np.uint8]:
    """The colours (k, 3), k at most ``count`` and white: median cut, then k-means, of the flat parts."""
    some = rgb[flat]
    step = max(1, len(some) // 250_000)
    some = some[::step]
    cut = Image.fromarray(some[None]).quantize(colors=count + 1, method=Image.Quantize.MEDIANCUT, kmeans=3)
    values, shares = np.unique(np.asarray(cut), return_counts=True)
    table = np.array(cut.getpalette() or [], np.uint8).reshape(-1, 3)
    kept = values[shares >= max(2, _LEAST_SHARE * len(some))]
    return _apart(table[kept])


def _apart(palette: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The colours without those that are as good as an earlier one."""
    kept: list[NDArray[np.uint8]] = []
    for colour in palette:
        if all(np.linalg.norm(colour.astype(float) - one) > 20 for one in kept):
            kept.append(colour)
    return np.array(kept, np.uint8)
