"""A picture's tones as the maker sets them: cropped, background cut away, levels, curve, sharpened, inverted."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from core.artwork.picture_decisions import ToneControls
from core.artwork.pictures.opening import Picture
from core.errors import UnreadableError

Greys = NDArray[np.float32]


def crop_px(picture: Picture, controls: ToneControls) -> tuple[int, int, int, int]:
    """The cropped part in whole pixels: left, top, right, bottom. Raises UnreadableError where nothing is left."""
    left, top, right, bottom = controls.crop
    box = (
        round(left * picture.width_px),
        round(top * picture.height_px),
        round(right * picture.width_px),
        round(bottom * picture.height_px),
    )
    if box[2] - box[0] < 1 or box[3] - box[1] < 1:
        raise UnreadableError("The crop leaves nothing of the picture.", hint="Crop less.")
    return box


def with_tones(picture: Picture, controls: ToneControls, *, screened: bool = False) -> Picture:
    """The picture with its tones set; its grey and alpha are what is traced and screened.

    screened: half transparent places keep their own grey, not that on white ground: their alpha counts once, after it.
    """
    controls.check()
    left, top, right, bottom = crop_px(picture, controls)
    part = (slice(top, bottom), slice(left, right))
    rgb, grey = picture.rgb[part], picture.grey[part]
    alpha = None if picture.alpha is None else picture.alpha[part]
    if screened and alpha is not None:
        own = (grey - 255 * (1 - alpha)) / np.maximum(alpha, np.float32(1 / 255))
        grey = np.clip(np.where(alpha > 0, own, 255), 0, 255).astype(np.float32)
    if controls.background == "white":
        alpha = _without_white(grey, alpha, controls.white_from)
    grey = set_greys(grey, controls)
    if alpha is not None:
        grey = np.where(alpha > 0, grey, np.float32(255))
    return replace(picture, rgb=rgb, grey=np.ascontiguousarray(grey, np.float32), alpha=alpha)


def set_greys(grey: Greys, controls: ToneControls) -> Greys:
    """Greys (h, w), 0 to 255, through sharpening, levels, gamma, curve and inversion."""
    if controls.sharpen > 0:
        import scipy.ndimage

        soft = scipy.ndimage.gaussian_filter(grey, controls.sharpen_px / 2, mode="nearest")
        grey = np.clip(grey + np.float32(controls.sharpen) * (grey - soft), 0, 255)
    if is_plain(controls):
        return grey
    table = tone_table(controls)
    result: Greys = np.interp(grey, np.linspace(0, 255, len(table)), table).astype(np.float32)
    return result


def is_plain(controls: ToneControls) -> bool:
    """Whether levels, curve and inversion leave greys as they are."""
    plain = ToneControls()
    return all(
        getattr(controls, name) == getattr(plain, name) for name in ("black", "white", "gamma", "curve", "invert")
    )


def tone_table(controls: ToneControls, *, steps: int = 1021) -> NDArray[np.float64]:
    """Grey out, 0 to 255, for evenly spaced greys in from 0 to 255, (steps,)."""
    share = np.clip((np.linspace(0, 255, steps) - controls.black) / (controls.white - controls.black), 0, 1)
    share = share ** (1 / controls.gamma)
    if controls.curve != ToneControls().curve:
        from scipy.interpolate import PchipInterpolator

        x, y = np.array(controls.curve, float).T
        share = np.clip(PchipInterpolator(x, y)(share), 0, 1)
    return 255 * (1 - share if controls.invert else share)


def _without_white(grey: Greys, alpha: Greys | None, white_from: int) -> Greys:
    """Alpha with the white that is joined to the picture's edge taken out: white inside stays white."""
    import scipy.ndimage

    white = grey >= white_from
    labels, _ = scipy.ndimage.label(white)
    edge = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    away = np.isin(labels, edge[edge > 0])
    result = np.where(away, 0, 1).astype(np.float32)
    return result if alpha is None else np.minimum(result, alpha)
