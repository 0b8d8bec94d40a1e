"""What the fuzzer needs for pictures: small files of every kind to begin with, mutations that keep a file's checksums
right so that they get past them, and both ways of reading."""

import contextlib
import io
import random
import struct
import zlib
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from PIL import Image, ImageCms

from core.artwork.drawing import ReadOptions
from core.artwork.picture_decisions import PictureOptions, ToneControls, TraceOptions
from core.artwork.pictures.reading import read_picture

_PNG = b"\x89PNG\r\n\x1a\n"
WAYS = (
    PictureOptions(width_mm=20.0),
    PictureOptions(trace=TraceOptions(colours=3)),
    PictureOptions(width_mm=20.0, trace=TraceOptions(levels=2)),
    PictureOptions(way="screen", bared_is="light", tones=ToneControls(crop=(0.1, 0.0, 0.9, 1.0), sharpen=1.0)),
)
"""Decisions that take all of the reader's ways."""


def read_any(data: bytes, options: ReadOptions) -> None:
    """Read as one of four decisions, told by the file's length, so that an input always takes the same way.

    What says it has more than 4 megapixels is left out: reading it is only slow.
    """
    with contextlib.suppress(Exception), Image.open(io.BytesIO(data)) as image:
        if image.width * image.height > 4_000_000:
            return
    read_picture(data, replace(options, picture=WAYS[len(data) % len(WAYS)]))


def beginnings(kind: str) -> Iterator[bytes]:
    """A small file of each format, with alpha, palette, 16 bits, CMYK, profile and orientation among them."""
    y, x = np.mgrid[0:18, 0:26]
    blob = np.where((x - 12) ** 2 + (y - 9) ** 2 < 40, 20, 235).astype(np.uint8)
    grey = Image.fromarray(blob)
    colour = Image.merge("RGB", (grey, grey.rotate(180), grey.point(lambda v: 255 - v)))
    alpha = colour.copy()
    alpha.putalpha(grey)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    exif = Image.Exif()
    exif[0x0112] = 6
    wide = Image.fromarray(blob.astype(np.uint16) * 257)
    for image, file_format, options in (
        (grey, "PNG", {"dpi": (300, 300)}),
        (alpha, "PNG", {}),
        (colour.quantize(4), "PNG", {"transparency": 1}),
        (wide, "PNG", {}),
        (grey, "JPEG", {"dpi": (300, 300), "exif": exif}),
        (colour.convert("CMYK"), "JPEG", {"quality": 60}),
        (colour, "JPEG", {"icc_profile": profile, "progressive": True}),
        (grey, "TIFF", {"compression": "tiff_lzw", "dpi": (300, 300)}),
        (wide, "TIFF", {}),
        (alpha, "TIFF", {"compression": "tiff_adobe_deflate"}),
        (grey.convert("1"), "TIFF", {"compression": "group4"}),
        (colour, "BMP", {}),
        (grey.convert("1"), "BMP", {}),
        (alpha, "WEBP", {"lossless": True}),
        (colour, "WEBP", {"exif": exif}),
    ):
        stream = io.BytesIO()
        image.save(stream, file_format, **options)
        yield stream.getvalue()


def mutated_picture(data: bytes, seed: int) -> bytes:
    """The file with a few bytes or numbers of it changed; of a PNG with its checksums made right again."""
    rng = random.Random(seed)
    if not data.startswith(_PNG):
        return _changed(data, rng, whole=True)
    chunks = _chunks(data)
    if not chunks:
        return _changed(data, rng, whole=True)
    which = rng.randrange(len(chunks))
    name, body = chunks[which]
    if name == b"IDAT" and rng.random() < 0.7:
        try:
            body = zlib.compress(_changed(zlib.decompressobj().decompress(body, 200_000), rng, whole=False))
        except zlib.error:
            body = _changed(body, rng, whole=False)
    elif rng.random() < 0.15:
        chunks.insert(rng.randrange(len(chunks)), chunks[which])
    else:
        body = _changed(body, rng, whole=False)
    chunks[which] = name, body
    parts = (struct.pack(">I", len(b)) + n + b + struct.pack(">I", zlib.crc32(n + b)) for n, b in chunks)
    return _PNG + b"".join(parts)


def _chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], len(_PNG)
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        found.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        at += 12 + length
    return found


def _changed(data: bytes, rng: random.Random, *, whole: bool) -> bytes:
    if not data:
        return bytes([rng.randrange(256)])
    changed = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(changed))
        kind = rng.randrange(4)
        if kind == 0:
            changed[at] = rng.randrange(256)
        elif kind == 1:
            changed[at] ^= 1 << rng.randrange(8)
        elif kind == 2:
            size = rng.choice((2, 4))
            value = rng.choice((0, 1, 0xFFFF, 0x7FFF, 0x8000, 0xFFFFFFFF, 0x7FFFFFFF))
            changed[at : at + size] = (value & (256**size - 1)).to_bytes(size, rng.choice(("little", "big")))
        elif whole and rng.random() < 0.3:
            del changed[at:]
            if not changed:
                return b"\0"
        else:
            end = min(len(changed), at + rng.randint(1, 12))
            del changed[at:end]
            if not changed:
                return b"\0"
    return bytes(changed)
