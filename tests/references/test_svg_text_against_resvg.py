"""Text set in an installed font, as outlined here and as resvg paints it: intersection over union at 1,024 px.

Outside source: resvg (https://github.com/linebender/resvg), which shapes text by its own means. Only the font DejaVu
Sans is used; without it the comparison is skipped.
"""

from pathlib import Path

import numpy as np
import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.fonts.outlines import FontAsked, shape_text
from core.artwork.svg import read_svg
from tests.references.resvg_oracle import polygons_svg, rendered

SET_IN = 'font-family="DejaVu Sans" font-size="30"'
SHALOM = "\u05e9\u05dc\u05d5\u05dd"
MARHABA = "\u0645\u0631\u062d\u0628\u0627"


def svg(body: str) -> bytes:
    # a whole number of pixels to a unit, so that both pictures lie on the same raster
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="256" height="128">'
    return f"{head}<g {SET_IN}>{body}</g></svg>".encode()


@pytest.fixture(scope="module")
def _dejavu() -> None:
    if shape_text("A", FontAsked(families=("DejaVu Sans",)))[1].substituted:
        pytest.skip("DejaVu Sans is not installed")


@pytest.mark.usefixtures("_dejavu")
@pytest.mark.parametrize(
    "body",
    [
        '<text x="10" y="50">AVATAR fi</text>',
        '<text x="100" y="50" text-anchor="middle">Middle</text><text x="190" y="100" text-anchor="end">End</text>',
        '<text x="5" y="40">A <tspan font-weight="bold">bold</tspan> x<tspan dy="40" dx="-40">down</tspan></text>',
        '<text x="10 60 120" y="40 60 80">abcde</text>',
        '<text x="10" y="80" rotate="10 20 45">Rotate</text>',
        '<text x="5" y="50" letter-spacing="5" word-spacing="10">ab cd ef</text>',
        '<text x="10" y="50">  a   b\n  c  </text><text x="10" y="100" xml:space="preserve">  a   b</text>',
        '<text x="10" y="50" textLength="180">abcd</text>',
        '<text x="50" y="20" transform="rotate(20) skewX(20) scale(1 1.5)">Slant</text>',
        '<text x="10" y="60" fill="none" stroke="#000" stroke-width="3" font-size="50">Abc</text>',
        f'<text x="10" y="50">abc {SHALOM} def</text>',
        f'<text x="180" y="100" text-anchor="end">{SHALOM}! ({SHALOM})</text>',
        f'<text x="10" y="50">{SHALOM} <tspan font-weight="bold">{SHALOM}</tspan></text>',  # one line for both
        f'<text x="10" y="50">{MARHABA[:2]}<tspan fill="red">{MARHABA[2:]}</tspan></text>',  # joined over its parts
        '<clipPath id="c"><text x="5" y="90" font-size="80">Clip</text></clipPath>'
        '<rect width="200" height="120" clip-path="url(#c)"/>',
    ],
)
def test_text_is_painted_alike(body: str, tmp_path: Path) -> None:
    path = tmp_path / "text.svg"
    path.write_bytes(svg(body))
    expected = rendered(path.read_bytes())
    height, width = expected.shape
    ours = rendered(polygons_svg(path, (width, height))[0].encode(), as_it_is=True)
    assert expected.any()
    assert np.count_nonzero(ours & expected) >= 0.98 * np.count_nonzero(ours | expected)


@pytest.mark.usefixtures("_dejavu")
def test_text_on_a_straight_line_and_after_it_lies_as_if_there_were_no_line(tmp_path: Path) -> None:
    """resvg measures lines to half a unit only, so here both are ours."""
    pictures = []
    for body in (
        '<text x="20" y="50"><tspan>Line</tspan><tspan>after</tspan></text>',
        '<path id="l" d="M20 50H140" fill="none"/><text><textPath href="#l">Line</textPath><tspan>after</tspan></text>',
    ):
        path = tmp_path / "text.svg"
        path.write_bytes(svg(body))
        pictures.append(rendered(polygons_svg(path, (1024, 512))[0].encode(), as_it_is=True))
    plain, along = pictures
    assert plain.any()
    assert np.count_nonzero(plain & along) >= 0.99 * np.count_nonzero(plain | along)


def test_a_missing_font_and_its_substitute_are_named() -> None:
    drawing = read_svg(svg('<text x="10" y="50" font-family="No Such Face">Ab</text>'), ReadOptions())
    messages = [one.message for one in drawing.findings if one.code == "font-missing"]
    assert len(messages) == 1
    assert "No Such Face" in messages[0]
    assert len(drawing.shapes) == 1
