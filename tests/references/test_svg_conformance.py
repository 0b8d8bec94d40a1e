"""resvg's conformance files as read here and as resvg paints them: intersection over union at 1,000 px.

Outside source: resvg and its test suite (https://github.com/linebender/resvg). A sample of each part, always the same,
without those that resvg is known to paint otherwise; all files in ``python -m tests.benchmarks oracle``.
"""

from pathlib import Path

import pytest

from tests.references.conformance import PAINTED, PAINTED_OTHERWISE, files_of, fonts, name_of
from tests.references.corpora import CorpusMissingError, sample
from tests.references.resvg_oracle import Comparison, compare_all

GOOD_IOU = 0.95
FILES_PER_PART = 8

pytestmark = pytest.mark.timeout(600)


@pytest.fixture(scope="module")
def judged() -> dict[str, list[Comparison]]:
    """What was compared of each part, in one child process for all."""
    try:
        part_of = {path: part for part in PAINTED for path in _sample(part, FILES_PER_PART)}
        part_of |= dict.fromkeys(_sample("text", FILES_PER_PART * len(PAINTED)), "text")
        folder = fonts()
    except CorpusMissingError as error:
        pytest.skip(f"Not compared: {error}")
    results: dict[str, list[Comparison]] = {}
    for result in compare_all(list(part_of), workers=1, timeout_s=120, fonts=folder):
        results.setdefault(part_of[Path(result.path)], []).append(result)
    return results


@pytest.mark.parametrize(("parts", "share"), [(PAINTED, 0.97), (("text",), 0.85)], ids=["painted", "text"])
def test_conformance_files_are_painted_alike(
    parts: tuple[str, ...], share: float, judged: dict[str, list[Comparison]]
) -> None:
    results = [result for part in parts for result in judged[part]]
    below = [result for result in results if not result.iou >= GOOD_IOU]
    told = "\n".join(f"{result.iou:.3f} {name_of(Path(result.path))} {result.error}" for result in below)
    assert len(results) - len(below) >= share * len(results), told
    assert not [result for result in results if result.error], told


def _sample(part: str, count: int) -> list[Path]:
    return sample([path for path in files_of(part) if name_of(path) not in PAINTED_OTHERWISE], count)


def test_what_is_painted_otherwise_is_in_the_suite() -> None:
    try:
        known = {name_of(path) for part in (*PAINTED, "text") for path in files_of(part)}
    except CorpusMissingError as error:
        pytest.skip(f"Not compared: {error}")
    assert set(PAINTED_OTHERWISE) <= known
