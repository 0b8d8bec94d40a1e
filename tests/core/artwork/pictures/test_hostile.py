"""Broken, huge and pointless pictures: one sentence, no traceback, nothing lost."""

import struct
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.pictures.reading import read_picture
from core.artwork.reading import read_artwork
from core.errors import UnreadableError
from tests import fuzz_pictures
from tests.core.artwork.pictures.made_pictures import file_bytes, reading, source, square

KEPT = sorted((Path(__file__).parents[3] / "fuzz_seeds").glob("*.picture"))


def png_of(width: int, height: int, body: bytes = b"") -> bytes:
    """A PNG that says it is this large, whatever is in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(body)) + chunk(b"IEND", b"")


def animated(kind: str) -> bytes:
    frames = [square(), square(inner=(1, 1, 9, 9))]
    return file_bytes(frames[0], kind, save_all=True, append_images=frames[1:], duration=50)


def packed_tiff() -> bytes:
    noise = np.random.default_rng(1).integers(0, 255, (64, 64), dtype=np.uint8)
    return file_bytes(Image.fromarray(noise), "TIFF", compression="tiff_adobe_deflate", dpi=(300, 300))


def cases() -> dict[str, tuple[bytes, str]]:
    grey = Image.new("L", (64, 64), 130)
    whole = file_bytes(square(400, (50, 50, 300, 300)), "JPEG", dpi=(300, 300))
    return {
        "60,000 x 60,000": (png_of(60_000, 60_000), r"60,000 x 60,000 pixels"),
        "bomb": (png_of(9_000, 9_000, b"\0" * 100), r"9,000 x 9,000 pixels"),
        "long": (png_of(40_000, 2), r"40,000 x 2 pixels"),
        "1 x 1": (file_bytes(Image.new("L", (1, 1)), dpi=(300, 300)), "too small"),
        "no pixels": (png_of(0, 5), "no picture|no pixels|broken"),
        "truncated jpeg": (whole[: len(whole) // 2], "broken or cut short"),
        "truncated png": (file_bytes(square(400, (5, 5, 300, 300)))[:300], "broken or cut short"),
        "scrambled tiff": (packed_tiff().replace(packed_tiff()[300:340], bytes(40)), "broken or cut short"),
        "header only": (b"\x89PNG\r\n\x1a\n", "no picture|broken"),
        "tiff header only": (b"II*\0\x08\0\0\0", "no picture|broken"),
        "animated png": (animated("PNG"), "2 frames of an animation"),
        "animated webp": (animated("WEBP"), "2 frames of an animation"),
        "many pages": (animated("TIFF"), "2 pages"),
        "gif": (file_bytes(square(), "GIF"), "a GIF picture, which is not read"),
        "one tone": (file_bytes(grey, dpi=(300, 300)), "all one tone"),
        "all white": (file_bytes(Image.new("RGB", (64, 64), "white"), dpi=(300, 300)), "all one tone"),
        "text": (b"just a few words", "no picture, whatever its name says"),
        "no resolution": (file_bytes(square()), "does not say how large"),
    }


@pytest.mark.parametrize("name", list(cases()))
def test_one_sentence(name: str) -> None:
    data, words = cases()[name]
    with pytest.raises(UnreadableError, match=words) as caught:
        read_artwork(ArtworkSource(name="picture.png", data=data), ReadOptions())
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 200


@pytest.mark.parametrize("grey", [0, 130, 255])
def test_one_tone_is_no_picture_to_screen_either(grey: int) -> None:
    data = file_bytes(Image.new("L", (64, 64), grey), dpi=(300, 300))
    with pytest.raises(UnreadableError, match="all one tone: there is nothing to screen"):
        read_artwork(ArtworkSource(name="flat.png", data=data), reading(way="screen", bared_is="dark"))


def test_a_wrong_suffix_is_seen_through() -> None:
    data = file_bytes(square(), "JPEG", dpi=(254, 254))
    for name in ("logo.png", "logo.svg", "logo.pdf", "logo"):
        assert read_artwork(ArtworkSource(name=name, data=data), ReadOptions()).shapes


def test_bytes_changed_by_chance_never_break_it() -> None:
    rng = np.random.default_rng(17)
    for kind in ("PNG", "JPEG", "TIFF", "BMP", "WEBP"):
        whole = source(square(mode="RGB"), kind, **({} if kind == "WEBP" else {"dpi": (254, 254)})).data
        for _ in range(60):
            data = bytearray(whole)
            for at in rng.integers(0, len(data), rng.integers(1, 8)):
                data[at] = rng.integers(0, 256)
            try:
                read_artwork(
                    ArtworkSource(name="a.png", data=bytes(data[: rng.integers(8, len(data) + 1)])), ReadOptions()
                )
            except UnreadableError as error:
                assert "\n" not in str(error)


def read_all_ways(data: bytes) -> None:
    for picture in fuzz_pictures.WAYS:
        try:
            read_picture(data, replace(ReadOptions(), picture=picture))
        except UnreadableError as error:
            assert "\n" not in str(error)


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_what_once_broke_the_reader_is_read_or_refused(path: Path) -> None:
    read_all_ways(path.read_bytes())


def test_mutations_past_the_checksums_are_read_or_refused() -> None:
    for number, data in enumerate(fuzz_pictures.beginnings("picture")):
        for seed in range(4):
            data = fuzz_pictures.mutated_picture(data, 100 * number + seed)
        read_all_ways(data)
