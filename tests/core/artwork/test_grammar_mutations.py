"""Files changed by their grammar: a reader gives a drawing or says why not, and nothing else. Inputs that once broke a
reader are kept in ``tests/fuzz_seeds``."""

import importlib
from pathlib import Path

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf
from core.artwork.svg import read_svg
from core.errors import UnreadableError
from tests import fuzz_readers
from tests.fuzz_grammars import mutated_dxf, mutated_svg
from tests.fuzz_readers import MADE

SEEDS = Path(__file__).parents[2] / "fuzz_seeds"
READERS = {"svg": (read_svg, mutated_svg), "dxf": (read_dxf, mutated_dxf)}
KEPT = sorted(path for path in SEEDS.iterdir() if path.suffix[1:] in READERS)


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize("seed", range(20))
def test_a_mutated_file_is_read_or_refused(kind: str, seed: int) -> None:
    read, mutated = READERS[kind]
    data = MADE[kind].encode()
    for step in range(3):
        data = mutated(data, 1000 * seed + step)
    _read(read, data)


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_what_once_broke_a_reader_is_read_or_refused(path: Path) -> None:
    _read(READERS[path.suffix[1:]][0], path.read_bytes())


def _read(read, data: bytes) -> None:  # type: ignore[no-untyped-def]
    try:
        drawing = read(data, ReadOptions())
    except UnreadableError as error:
        assert error.message
        return
    assert drawing.width_mm >= 0


@pytest.mark.parametrize("kind", fuzz_readers.READERS)
def test_the_fuzzer_finds_every_reader(kind: str) -> None:
    module, function, _ = fuzz_readers.READERS[kind]
    assert callable(getattr(importlib.import_module(module), function))
