"""Error diffusion and ordered thresholds against what was published, and a general library's output.

R. W. Floyd, L. Steinberg, Proc. Society for Information Display 17, 75 (1976): 7, 3, 5 and 1 sixteenths; from memory.
B. E. Bayer, IEEE Int. Conf. on Communications 1973: the 4 x 4 matrix of ranks; from memory, as textbooks print it.
Pillow's ``convert("1")`` is Floyd and Steinberg's in whole numbers.
"""

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


def test_bayer_s_matrix() -> None:
    assert bayer_matrix(2).astype(int).tolist() == [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]]
    for share in (0.1, 0.25, 0.5, 0.8):
        assert abs((thresholds(64, 64) < share).mean() - share) <= 1 / 128
