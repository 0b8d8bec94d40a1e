"""What first pages of PDF files paint, read here and rendered by PDFium: whole corpora at 600 dpi, one line a corpus.

What is judged is intersection over union on the pages that hold vector artwork and no raster pictures (see
``tests.references.pdf_oracle``). Ten minutes on two cores; needs the network once.
"""

import time
from collections.abc import Iterable

from tests.benchmarks import Line
from tests.references.corpora import PDF_CORPORA, Corpus, files_of
from tests.references.pdf_oracle import GOOD_IOU, PageComparison, compare_all

WORST_NAMED = 3


def run() -> Iterable[Line]:
    for corpus in PDF_CORPORA:
        started = time.perf_counter()
        results = list(compare_all(files_of(corpus)))
        yield judged(corpus, results, time.perf_counter() - started)


def judged(corpus: Corpus, results: list[PageComparison], time_s: float) -> Line:
    """One corpus as a line: its vector pages and those that are good, what was not read, what is silently wrong."""
    read = [result for result in results if not result.error]
    vector = [result for result in read if result.vector]
    good = sum(result.iou >= GOOD_IOU for result in vector)
    silent = [result for result in results if result.silently_wrong]
    worst = sorted(vector, key=lambda result: result.iou)[:WORST_NAMED]
    names = ", ".join(f"{result.path.rsplit('/', 1)[-1]} {result.iou:.3f}" for result in [*silent, *worst])
    return Line(
        name=f"{corpus.package} {corpus.version}, first pages",
        time_s=time_s,
        note=(
            f"{len(results)} files, {len(results) - len(read)} not read, {len(vector)} vector pages,"
            f" IoU >= {GOOD_IOU} on {good / max(1, len(vector)):.1%}, silently wrong {len(silent)}; worst {names}"
        ),
    )


if __name__ == "__main__":
    for line in run():
        print(line, flush=True)
