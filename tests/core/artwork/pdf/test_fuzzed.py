"""Files made by the structure-aware fuzzer: those that once failed, and a few more. See ``tests.fuzz_pdf``."""

import contextlib
import random

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.pdf.reading import read_pdf
from core.errors import UnreadableError
from tests.fuzz_pdf import made_pdf

ONCE_FAILED = {
    20: "resources of a drawn letter that are a number",
    282: "a picture whose height is no whole number of blocks",
    1561: "a clip that took half a minute to disentangle",
}


@pytest.mark.parametrize("seed", [*ONCE_FAILED, *range(6)])
def test_strange_structures_are_read_or_refused_in_one_sentence(seed: int) -> None:
    with contextlib.suppress(UnreadableError):
        assert read_pdf(made_pdf(random.Random(seed)), ReadOptions()).shapes
