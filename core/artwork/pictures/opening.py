"""A picture file's bytes to greys, alpha and colours, within limits that are checked before anything is decoded.

Pillow decodes; colours go to sRGB through the file's own ICC profile (littlecms). The orientation tag is followed.
"""

import contextlib
import ctypes
import io
import struct
import warnings
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import (  # the plugins register themselves where they are imported
    BmpImagePlugin,  # noqa: F401
    Image,
    ImageCms,
    ImageOps,
    JpegImagePlugin,  # noqa: F401
    PngImagePlugin,  # noqa: F401
    TiffImagePlugin,  # noqa: F401
    UnidentifiedImageError,
    WebPImagePlugin,  # noqa: F401
    _imaging,
)

from core.errors import UnreadableError

MOST_PIXELS = 80_000_000
MOST_SIDE_PX = 30_000
FORMATS = ("PNG", "JPEG", "TIFF", "BMP", "WEBP")
AGAIN = "Ask for it again, or save it anew as PNG."
_RESOLUTIONS_DPI = (5.0, 10_000.0)
_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)  # ITU-R BT.709-6, 3.2

# libtiff writes what it finds wrong straight to the error stream, where one sentence for the maker belongs
with contextlib.suppress(OSError, AttributeError):  # a Pillow that holds it otherwise
    _pillow = ctypes.CDLL(_imaging.__file__)
    _pillow.TIFFSetErrorHandler(None)
    _pillow.TIFFSetWarningHandler(None)

Image.MAX_IMAGE_PIXELS = None  # the size is checked here, before decoding, with a word for the maker


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A decoded picture, upright.

    rgb: (h, w, 3) uint8, sRGB. grey: (h, w) float32, 0 black to 255 white, on white where transparent. alpha: (h, w)
    float32 0 to 1, None where all is opaque. dpi: (across, down) as the file says, None where it does not.
    """

    rgb: NDArray[np.uint8]
    grey: NDArray[np.float32]
    alpha: NDArray[np.float32] | None
    dpi: tuple[float, float] | None
    format: str

    @property
    def width_px(self) -> int:
        """Pixels across."""
        return int(self.grey.shape[1])

    @property
    def height_px(self) -> int:
        """Pixels down."""
        return int(self.grey.shape[0])


def open_picture(data: bytes, *, most_pixels: int = MOST_PIXELS) -> Picture:
    """The picture in a file's bytes. Raises UnreadableError in one sentence for whatever is wrong with it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # remarks of the decoder about tags that do not matter here
        return _opened(data, most_pixels)


def _opened(data: bytes, most_pixels: int) -> Picture:
    try:
        image = Image.open(io.BytesIO(data), formats=FORMATS)
        _check_size(image, most_pixels)
        _check_single(image)
        image.load()
    except UnreadableError:
        raise
    except UnidentifiedImageError:
        raise UnreadableError(
            "It is no picture that can be read here.", hint="Ask for PNG, JPEG, TIFF, BMP or WebP."
        ) from None
    except MemoryError:
        raise UnreadableError("The picture is too large to be decoded here.", hint="Save it smaller.") from None
    except _DECODER_FAULTS:
        raise UnreadableError("The picture is broken or cut short.", hint=AGAIN) from None
    try:
        return _decoded(image)
    except UnreadableError:
        raise
    except MemoryError:
        raise UnreadableError("The picture is too large to be decoded here.", hint="Save it smaller.") from None
    except _DECODER_FAULTS:
        raise UnreadableError("The picture's colours can't be read.", hint=AGAIN) from None


_DECODER_FAULTS = (
    OSError,
    ValueError,
    SyntaxError,  # Pillow's word for broken files
    EOFError,
    TypeError,
    KeyError,
    IndexError,
    AttributeError,
    OverflowError,
    ZeroDivisionError,
    RuntimeError,
    AssertionError,
    struct.error,
    zlib.error,
    ImageCms.PyCMSError,
)
"""What a decoder of a foreign library may raise on damaged bytes."""


def _check_size(image: Image.Image, most_pixels: int) -> None:
    width, height = image.size
    if width < 1 or height < 1:
        raise UnreadableError("The picture has no pixels.", hint=AGAIN)
    if width * height > most_pixels or max(width, height) > MOST_SIDE_PX:
        raise UnreadableError(
            f"The picture is {width:,} x {height:,} pixels; up to {most_pixels // 10**6} million, and "
            f"{MOST_SIDE_PX:,} a side, are read.",
            hint="Save it smaller: 600 dots an inch at its real size is plenty.",
        )


def _check_single(image: Image.Image) -> None:
    if image.format == "MPO":  # a camera's picture with a smaller one behind it
        return
    frames = getattr(image, "n_frames", 1)
    if frames > 1:
        what = "pages" if image.format == "TIFF" else "frames of an animation"
        raise UnreadableError(f"The picture holds {frames} {what}.", hint="Save the one that is meant by itself.")


def _decoded(image: Image.Image) -> Picture:
    name = image.format or ""
    dpi = _resolution(image)
    turned = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
    profile = image.info.get("icc_profile")
    upright = ImageOps.exif_transpose(image)
    if dpi is not None and turned:
        dpi = dpi[1], dpi[0]
    wide = _sixteen_bit_grey(upright)
    alpha = None if wide is not None else _alpha(upright)
    rgb = np.asarray(_in_srgb(upright, profile)) if wide is None else np.repeat(wide.astype(np.uint8)[..., None], 3, 2)
    grey = wide if wide is not None else _grey(rgb)
    if alpha is not None:
        grey = grey * alpha + 255 * (1 - alpha)
    return Picture(rgb=rgb, grey=np.ascontiguousarray(grey, np.float32), alpha=alpha, dpi=dpi, format=name)


def picture_of(image: Image.Image) -> Picture:
    """A picture that another reader decoded."""
    return _decoded(image)


def _grey(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    if rgb.size and (rgb[..., 0] == rgb[..., 1]).all() and (rgb[..., 1] == rgb[..., 2]).all():
        return rgb[..., 0].astype(np.float32)
    result: NDArray[np.float32] = rgb[..., 0] * _LUMA[0]
    for channel in (1, 2):  # one after the other: a large picture's floats are held once
        result += rgb[..., channel] * _LUMA[channel]
    return result


def _sixteen_bit_grey(image: Image.Image) -> NDArray[np.float32] | None:
    """Greys of more than 8 bits, brought to 0 to 255; None for all else."""
    if image.mode.startswith("I;16"):
        return np.asarray(image).astype(np.float32) / np.float32(257)
    if image.mode not in ("I", "F"):
        return None
    values = np.nan_to_num(np.asarray(image).astype(np.float64), nan=0.0, posinf=0.0, neginf=0.0)
    if image.mode == "I":
        return np.clip(values / (257 if values.max(initial=0) > 255 else 1), 0, 255).astype(np.float32)
    least, most = float(values.min(initial=0)), float(values.max(initial=0))
    scale = 255.0 if least >= 0 and most <= 1 else 1.0
    return np.clip(values * scale, 0, 255).astype(np.float32)


def _alpha(image: Image.Image) -> NDArray[np.float32] | None:
    if not image.has_transparency_data:
        return None
    alpha = np.asarray(image.convert("RGBA"))[..., 3]
    return None if (alpha == 255).all() else alpha.astype(np.float32) / np.float32(255)


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The picture in sRGB, through its own profile where it has one that fits."""
    if image.mode in ("P", "PA", "1", "LA", "La", "RGBa", "I;16", "HSV", "YCbCr"):
        image = image.convert("RGBA" if image.has_transparency_data else "RGB")
    if profile and image.mode in ("RGB", "RGBA", "CMYK", "L", "LAB"):
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            base = image.convert("RGB") if image.mode == "RGBA" else image
            turned = ImageCms.profileToProfile(base, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
            if turned is not None:
                return turned
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a broken profile, or one of another kind of colours: the picture is taken as it is
    return image.convert("RGB")


def _resolution(image: Image.Image) -> tuple[float, float] | None:
    """Dots an inch (across, down); None where the file says none that makes sense."""
    said = image.info.get("dpi")
    if said is None and image.info.get("jfif_unit") == 0:
        return None
    try:
        across, down = (float(one) for one in said or (0.0, 0.0))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    low, high = _RESOLUTIONS_DPI
    return (across, down) if low <= across <= high and low <= down <= high else None
