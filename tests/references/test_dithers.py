"""Error diffusion and ordered thresholds against what was published, and a general library's output.

R. W. Floyd, L. Steinberg, An adaptive algorithm for spatial greyscale, Proc. Society for Information Display 17, 75
(1976): 7, 3, 5 and 1 sixteenths, chosen so that a mid grey comes out as a chequerboard. B. E. Bayer, An optimum method
for two-level rendition of continuous-tone pictures, IEEE Int. Conf. on Communications 1973, 26-11: thresholds whose
dots lie as evenly as they can at every level; R. Ulichney, Digital Halftoning, MIT Press 1987, ch. 5, has the
recursion. The papers were not read again; what they say is held in three ways: against what their properties demand,
worked out exactly; against another way to write the matrix; and against the output of a general library written by
others, dithering 0.2.0 (Rust, MIT licence, from PyPI), kept below. Pillow's ``convert("1")`` is Floyd and Steinberg's
in whole numbers.
"""

import base64
import zlib
from fractions import Fraction

import numpy as np
from PIL import Image

from core.burning.screens.diffusion import diffused
from core.burning.screens.ordered import bayer_matrix, thresholds


def one_by_one(wanted: np.ndarray) -> np.ndarray:
    """The published way, cell after cell."""
    values = wanted.copy()
    on = np.zeros(values.shape, bool)
    rows, columns = values.shape
    for i in range(rows):
        for j in range(columns):
            on[i, j] = values[i, j] >= 0.5
            error = values[i, j] - on[i, j]
            for down, right, share in ((0, 1, 7), (1, -1, 3), (1, 0, 5), (1, 1, 1)):
                if i + down < rows and 0 <= j + right < columns:
                    values[i + down, j + right] += error * share / 16
    return on


def picture() -> np.ndarray:
    y, x = np.mgrid[0:60, 0:80]
    return np.clip(0.5 + 0.4 * np.sin(x / 11) * np.cos(y / 9) + 0.001 * x, 0, 1)


def test_fronts_give_what_cell_after_cell_gives() -> None:
    assert np.array_equal(diffused(picture()), one_by_one(picture()))
    assert np.array_equal(diffused(picture()[None])[0], one_by_one(picture()))


OF_A_LIBRARY = (
    "c-l3PF>BjU6onO|LcJv>-Q8e=oo@XFN^pk=3XRZx0*N$JhsrpfilM>Pl0eeQ71oj|0Sl}vo;^v1h(y0a4p=1F1J9lu4<dPW4L#F6"
    "-x)6F3^{*6Nyq`$V?IbW&#PoeSvFTMi=va(<J(75&M71g7mK;K-Z=+m+&q58Uaf>NZMNsIu~G2rB%2x7JLx&M{vcweqR6zar%Xqu"
    "S|$&)VT8$-ldfNfkQwk901nV6Pq<Xz1L*$_98Xq$8R|<0Kql!C(p5woL1KbZb6^xsLiF<6pik1Kj%x2uS!-HB0&Z2bF-Ts+z9K2I"
    "@yKD~dhY}qBa54TS=z3WS<2Au6@*jchW~oD_odwuF8Bibn15Rs9`gI(Q|(eX2i~$8N?+J2;fQBRMX?20<NWoycP8zv>6E8W_P4wM"
    "niVa-btN$mGv1oGioLJWW9!AV`=XHZhwLs;<*Ty3WbLu%RnAUfm`(##JuQFqf4)Y#>niIG3^n$Iswd+hVZ;Y?0F>+CngXcH;$$#R"
    "%+)TKKpp;z8tAVuB7^WIT|q*PabS8|U_^v9Qm8p)AVCy05Q;Wt<bj9S`MsxUek)<7{Jw;<gL{6ASDOXrz_;SDx4E;Y#YfYu4LhQU"
    "EXepBR*DFgb~t_czALVM@G0kG>~y-+GNQPRB_ZdI2D9ur*(voeW<NNO)UNPGYySmR0z(x"
)
"""``dithering.error_diffusion(np.round(255 * picture()).astype(np.uint8), "floyd_steinberg")``: bits packed by rows."""


def test_a_general_library_gives_the_same_cell_by_cell() -> None:
    bits = np.unpackbits(np.frombuffer(zlib.decompress(base64.b85decode(OF_A_LIBRARY)), np.uint8))
    theirs = bits.reshape(60, 80).astype(bool)
    assert theirs.sum() == 2601
    assert np.array_equal(diffused(np.round(255 * picture()) / 255), theirs)


def test_mid_grey_becomes_a_chequerboard() -> None:
    down, right = np.mgrid[0:40, 0:60]
    assert np.array_equal(diffused(np.full((40, 60), 0.5)), (down + right) % 2 == 0)


def test_errors_by_hand() -> None:
    """Two rows of three at 3/8, by fractions: each line is a cell's value, what it gives, and to whom."""
    tone, share = Fraction(3, 8), [Fraction(part, 16) for part in (7, 3, 5, 1)]
    a = tone  # off, hands on 3/8
    b = tone + share[0] * a  # on, hands on b - 1
    c = tone + share[0] * (b - 1)  # off
    d = tone + share[2] * a + share[1] * (b - 1)  # off
    e = tone + share[3] * a + share[2] * (b - 1) + share[1] * c + share[0] * d  # off
    f = tone + share[3] * (b - 1) + share[2] * c + share[0] * e  # on
    assert (b, c, d) == (Fraction(69, 128), Fraction(355, 2048), Fraction(831, 2048))
    assert (e, f) == (Fraction(7609, 16384), Fraction(158215, 262144))
    assert diffused(np.full((2, 3), 0.375)).tolist() == [[False, True, False], [False, False, True]]


def test_it_is_as_good_as_pillow_s() -> None:
    greys = np.round(255 * picture()).astype(np.uint8)
    theirs = np.asarray(Image.fromarray(greys).convert("1"))
    ours = diffused(greys / 255)
    blocks = [one.reshape(6, 10, 8, 10).mean(axis=(1, 3)) for one in (ours, theirs, greys / 255)]
    assert np.abs(blocks[0] - blocks[2]).max() <= np.abs(blocks[1] - blocks[2]).max() + 0.01
    assert np.abs(blocks[0] - blocks[2]).mean() <= np.abs(blocks[1] - blocks[2]).mean() + 0.002
    flat = np.full((40, 40), 64, np.uint8)
    same = diffused(flat / 255) == np.asarray(Image.fromarray(flat).convert("1"))
    assert same.mean() > 0.5 and abs(diffused(flat / 255).mean() - 64 / 255) < 0.01


def by_bits(order: int) -> np.ndarray:
    """The same ranks another way: the bits of x xor y and of y, woven, the first bit counting most."""
    y, x = np.mgrid[0 : 2**order, 0 : 2**order]
    ranks = np.zeros_like(x)
    for bit in range(order):
        ranks = ranks * 4 + 2 * ((x ^ y) >> bit & 1) + (y >> bit & 1)
    return ranks


def test_bayer_s_matrix() -> None:
    assert bayer_matrix(1).astype(int).tolist() == [[0, 2], [3, 1]]
    assert bayer_matrix(2).astype(int).tolist() == [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]]
    for order in (1, 2, 3, 4):
        assert np.array_equal(bayer_matrix(order), by_bits(order))
    # thresholds of dithering 0.2.0's 4 x 4 matrix in 256 levels; it counts from the other side, so upside down
    theirs = np.array([[248, 120, 216, 88], [56, 184, 24, 152], [200, 72, 232, 104], [8, 136, 40, 168]])
    assert np.array_equal(bayer_matrix(2) * 16 + 8, theirs[::-1])


def test_dots_lie_as_evenly_as_bayer_asks() -> None:
    """At 1 dot of 4^k cells the dots lie on a square lattice 2^k apart, at 2 on its diagonals: no two are nearer."""
    matrix = bayer_matrix(3)
    for level, apart in ((1, 8.0), (2, 4 * 2**0.5), (4, 4.0), (8, 2 * 2**0.5), (16, 2.0), (32, 2**0.5)):
        lit = np.argwhere(np.tile(matrix, (3, 3)) < level)
        middle = lit[((lit >= 8) & (lit < 16)).all(1)]
        gaps = np.hypot(*(middle[:, None] - lit[None]).transpose(2, 0, 1))
        assert len(middle) == level and np.allclose(np.where(gaps == 0, np.inf, gaps).min(1), apart)


def test_thresholds_light_the_share_that_is_wanted() -> None:
    for share in (0.1, 0.25, 0.5, 0.8):
        assert abs((thresholds(64, 64) < share).mean() - share) <= 1 / 128
