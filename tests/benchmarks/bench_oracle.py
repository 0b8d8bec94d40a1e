"""What SVG files paint, read here and rendered by resvg: whole corpora at 1,024 px, one line a corpus.

Times are sums over the files: ours reads and paints regions, the reference's renders to a picture. What is judged is
intersection over union (see ``tests.references.resvg_oracle``). Half an hour on two cores; needs the network once.
PDF files, rendered by PDFium, follow (``oracle_pdf``).
"""

from collections.abc import Iterable

from tests.benchmarks import Line, oracle_pdf
from tests.references import conformance
from tests.references.corpora import CORPORA, files_of
from tests.references.resvg_oracle import Comparison, compare_all

WORST_NAMED = 3


def run() -> Iterable[Line]:
    for corpus in CORPORA:
        name = f"{corpus.package} {corpus.version}, {corpus.name}"
        yield judged(name, list(compare_all(files_of(corpus))), good=0.99)
    folder = conformance.fonts()
    painted = [path for part in conformance.PAINTED for path in conformance.files_of(part)]
    for name, paths in (("painted parts", painted), ("text", conformance.files_of("text"))):
        results = list(compare_all(paths, fonts=folder))
        yield judged(f"conformance files of resvg {conformance.UPSTREAM}, {name}", results, good=0.95)
    yield from oracle_pdf.run()


def judged(name: str, results: list[Comparison], *, good: float) -> Line:
    """One set as a line: shares of its files at IoU >= 0.99 and >= 0.95, failures, the worst files by name."""
    failed = sum(bool(result.error) for result in results)
    worst = sorted((result for result in results if not result.iou >= good), key=_worst_first)[:WORST_NAMED]
    names = ", ".join(f"{result.path.rsplit('/', 1)[-1]} {result.error or f'{result.iou:.3f}'}" for result in worst)
    return Line(
        name=name,
        time_s=sum(result.read_s for result in results),
        reference="resvg",
        reference_s=sum(result.render_s for result in results),
        note=(
            f"{len(results):,} files, IoU >= 0.99 on {share(results, 0.99):.2%}, >= 0.95 on {share(results, 0.95):.2%},"
            f" failed {failed}" + (f"; worst {names}" if names else "")
        ),
    )


def share(results: list[Comparison], iou: float) -> float:
    """The part of the files that reach so much; a file that failed (nan) does not."""
    return sum(result.iou >= iou for result in results) / len(results)


def _worst_first(result: Comparison) -> float:
    return result.iou if result.iou == result.iou else -1.0
