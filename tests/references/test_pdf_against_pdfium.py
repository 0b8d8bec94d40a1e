"""PDF pages of four open sets, as read here and as PDFium paints them: intersection over union at 600 dpi.

Outside source: the page renderer of PDFium (https://pdfium.googlesource.com/pdfium), which goes another way than its
interface for single objects, by which pages are read. A steady sample of each set; all files in
``python -m tests.benchmarks oracle``.
"""

from pathlib import Path

import pytest

from tests.references.corpora import PDF_CORPORA, Corpus, CorpusMissingError, files_of, sample
from tests.references.pdf_oracle import GOOD_IOU, PageComparison, compare_all

FILES_PER_SET = 6
GOOD_SHARE = 0.95
MAX_BYTES = 100_000
"""Larger files are left to the benchmark."""
SCANS = ("pdfa/jbig2.pdf",)
"""As is the second of two copies of one scanned page: traced, it takes as long as all others together."""

pytestmark = pytest.mark.timeout(900)  # sets are fetched the first time, and a busy machine renders slowly


@pytest.fixture(scope="module")
def judged() -> dict[str, list[PageComparison] | str]:
    """What each set gave, by its name, or why it could not be fetched; one child process for all of them."""
    paths: dict[str, list[Path]] = {}
    found: dict[str, list[PageComparison] | str] = {}
    for corpus in PDF_CORPORA:
        try:
            small = [path for path in files_of(corpus) if path.stat().st_size <= MAX_BYTES and not is_scan(path)]
            paths[corpus.name] = sample(small, FILES_PER_SET)
        except CorpusMissingError as error:
            found[corpus.name] = f"Not compared: {error}"
    results = {Path(one.path): one for one in compare_all([path for of_set in paths.values() for path in of_set])}
    return found | {name: [results[path] for path in of_set] for name, of_set in paths.items()}


def is_scan(path: Path) -> bool:
    return path.as_posix().endswith(SCANS)


@pytest.mark.parametrize("corpus", PDF_CORPORA, ids=[corpus.name for corpus in PDF_CORPORA])
def test_pages_look_as_they_are_painted_and_none_is_silently_wrong(
    corpus: Corpus, judged: dict[str, list[PageComparison] | str]
) -> None:
    results = judged[corpus.name]
    if isinstance(results, str):
        pytest.skip(results)
    assert len(results) == FILES_PER_SET
    silent = [result for result in results if result.silently_wrong]
    assert not silent, "\n".join(map(str, silent))
    vector = [result for result in results if result.vector and not result.error]
    good = [result for result in vector if result.iou >= GOOD_IOU]
    assert len(good) >= GOOD_SHARE * len(vector), "\n".join(map(str, vector))
