"""SVG files of eight open sets, as read here and as resvg paints them: intersection over union at 1,024 px.

Outside source: resvg (https://github.com/linebender/resvg), an SVG renderer that shares no code with the reader. A
sample of each set, always the same; all files in ``python -m tests.benchmarks oracle``.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.references.corpora import CORPORA, Corpus, CorpusMissingError, files_of, sample
from tests.references.resvg_oracle import Comparison, compare_all

FILES_PER_SET = 16
GOOD_IOU = 0.99
GOOD_SHARE = 0.99
HUNG_S = 180.0
POOR_IOU = 0.9
"""No single file of a sample is read this badly."""

pytestmark = pytest.mark.timeout(900)  # sets are fetched the first time, and a busy machine renders slowly


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What each set gave, by its name; or why it could not be fetched."""

    results: dict[str, list[Comparison]]
    missing: dict[str, str]


@pytest.fixture(scope="module")
def judged() -> Judged:
    set_of: dict[Path, str] = {}
    missing: dict[str, str] = {}
    for corpus in CORPORA:
        try:
            set_of |= dict.fromkeys(sample(files_of(corpus), FILES_PER_SET), corpus.name)
        except CorpusMissingError as error:
            missing[corpus.name] = f"Not compared: {error}"
    results: dict[str, list[Comparison]] = {}
    for result in compare_all(list(set_of), workers=1, timeout_s=HUNG_S, kept=True):
        results.setdefault(set_of[Path(result.path)], []).append(result)
    return Judged(results=results, missing=missing)


@pytest.mark.parametrize("corpus", CORPORA, ids=[corpus.name for corpus in CORPORA])
def test_every_file_is_read_and_none_badly(corpus: Corpus, judged: Judged) -> None:
    if corpus.name in judged.missing:
        pytest.skip(judged.missing[corpus.name])
    results = judged.results[corpus.name]
    assert len(results) == min(FILES_PER_SET, len(files_of(corpus)))
    bad = [result for result in results if result.error or not result.iou >= POOR_IOU]
    assert not bad, f"{corpus.kind}:\n" + "\n".join(map(_told, bad))


def test_nearly_all_files_are_painted_alike(judged: Judged) -> None:
    if not judged.results:
        pytest.skip("No set could be fetched. " + " ".join(judged.missing.values()))
    results = [result for of_set in judged.results.values() for result in of_set]
    below = [result for result in results if not result.iou >= GOOD_IOU]
    shares = "".join(f"\n{name}: {_good(of_set)} of {len(of_set)}" for name, of_set in judged.results.items())
    assert _good(results) >= GOOD_SHARE * len(results), "\n".join([shares, *map(_told, below)])


def _good(results: list[Comparison]) -> int:
    return sum(result.iou >= GOOD_IOU for result in results)


def _told(result: Comparison) -> str:
    return f"{result.iou:.4f} {result.path} {result.error} {' '.join(result.codes)}"
