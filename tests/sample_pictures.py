"""Makes the sample pictures anew: ``python -m tests.sample_pictures``. Nothing of them comes from elsewhere.

A "photograph" of the bay below Gullwick House, computed: sky, low sun, waves, a headland with the house, film grain.
And the house's logo as its printer might send it: a small PNG, soft at its edges, on nothing.
"""

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

FOLDER = Path(__file__).parents[1] / "sample_jobs" / "pictures"
DPI = (150, 150)
LOGO_DPI = (300, 300)


def bay(width: int = 900, height: int = 675) -> Image.Image:
    """The photograph, 152 x 114 mm at 150 dots an inch."""
    rng = np.random.default_rng(1873)
    y, x = np.mgrid[0:height, 0:width]
    horizon = 0.56 * height
    sun_x, sun_y = 0.68 * width, 0.42 * height
    far = np.hypot(x - sun_x, (y - sun_y) * 1.1)
    sky = 110 + 95 * np.exp(-far / (0.30 * width)) + 40 * (y / horizon)
    cloud = sum(np.sin(x / (37 * k) + k) * np.cos(y / (13 * k) + 2.1 * k) / k for k in (1, 2, 3, 5))
    sky += 16 * cloud * np.clip(1 - y / horizon, 0, 1)
    sky = np.where(far < 0.045 * width, 252.0, sky)
    depth = np.clip((y - horizon) / (height - horizon), 1e-3, 1)
    swell = np.sin(4 / depth + 0.012 * x + 1.6 * np.sin(x / 61)) + 0.6 * np.sin(9 / depth - 0.02 * x)
    glitter = np.exp(-(((x - sun_x) / (30 + 220 * depth)) ** 2))
    sea = 62 + 26 * swell * depth**0.4 + 130 * glitter * np.clip(swell, 0, 1)
    tones = np.where(y < horizon, sky, sea)
    ridge = horizon - 0.17 * height * np.exp(-(((x - 0.16 * width) / (0.19 * width)) ** 2)) - 5 * np.sin(x / 23)
    land = (y > ridge) & (y < horizon + 6) & (x < 0.5 * width)
    tones = np.where(land, 34 + 16 * np.sin(x / 7) * np.sin(y / 5), tones)
    image = Image.fromarray(np.clip(tones + rng.normal(0, 3.2, tones.shape), 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    left, foot = int(0.13 * width), int(ridge[0, int(0.16 * width)]) + 10
    draw.rectangle((left, foot - 46, left + 64, foot), fill=58)
    draw.polygon([(left - 6, foot - 46), (left + 32, foot - 76), (left + 70, foot - 46)], fill=26)
    for window in (left + 10, left + 40):
        draw.rectangle((window, foot - 34, window + 13, foot - 18), fill=236)
    return image


def logo(width: int = 700, height: int = 420, scale: int = 4) -> Image.Image:
    """A gull over two waves within a ring, black on nothing; 59 x 36 mm at 300 dots an inch."""
    mask = Image.new("L", (width * scale, height * scale), 0)
    draw = ImageDraw.Draw(mask)

    def at(*points: float) -> list[float]:
        return [point * scale for point in points]

    draw.ellipse(at(150, 10, 550, 410), fill=255)
    draw.ellipse(at(172, 32, 528, 388), fill=0)
    t = np.linspace(0, 1, 200)
    for side in (-1, 1):
        upper = np.stack([350 + side * 135 * t, 190 - 75 * np.sin(np.pi * t * 0.85)], axis=1)
        lower = np.stack([350 + side * 135 * t, 214 - 78 * np.sin(np.pi * t * 0.9) * t**0.35], axis=1)
        draw.polygon([tuple(point * scale) for point in (*upper, *lower[::-1])], fill=255)
    for level, reach in ((270, 135), (318, 105)):
        x = np.linspace(350 - reach, 350 + reach, 300)
        wave = 11 * np.sin((x - 205) / 145 * 2 * np.pi)
        band = [*zip(x, level + wave, strict=True), *zip(x[::-1], level + 18 + wave[::-1], strict=True)]
        draw.polygon([(a * scale, b * scale) for a, b in band], fill=255)
    soft = mask.resize((width, height), Image.Resampling.BOX)
    image = Image.new("LA", (width, height), (20, 0))
    image.putalpha(soft)
    return image


def main() -> None:
    """Write both."""
    FOLDER.mkdir(exist_ok=True)
    bay().save(FOLDER / "bay.jpg", quality=82, dpi=DPI, optimize=True)
    logo().save(FOLDER / "house-logo.png", dpi=LOGO_DPI, optimize=True)


if __name__ == "__main__":
    main()
