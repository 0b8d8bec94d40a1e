"""Coverage-guided fuzzing of the readers: ``python -m tests.fuzz_readers KIND [SECONDS] [CORPUS_FOLDER]``.

KIND: svg, dxf, pdf, picture, or one of our own documents, job, export, book.

Not collected by pytest. It needs atheris (https://github.com/google/atheris, Apache-2.0), which has wheels for Linux
only and so is no dependency: ``pip install atheris`` into the development environment (tried: 3.0 on Python 3.11;
there are wheels for 3.12 and 3.13).

SVG and DXF are mutated by their grammar (``tests.fuzz_grammars``) as often as by bytes. Faults of the program that are
else logged are raised here (``TAIN_STRICT``). What a run finds is mended and its input kept in ``tests/fuzz_seeds``.

A reader may raise UnreadableError (UnitsUnknownError is one) and nothing else, answer within 10 s, and stay below 1
GiB (2 for pictures, which may have 80 megapixels). Any other end is a finding: atheris prints the traceback and
leaves the input as ``crash-...``, ``timeout-...`` or ``oom-...`` in the corpus folder, a folder of its own among the
temporary files unless one is named.
"""

import contextlib
import importlib
import os
import sys
import tempfile
from pathlib import Path

from core.artwork.drawing import ReadOptions
from core.errors import UnreadableError
from tests.fuzz_grammars import mutated_dxf, mutated_svg

ROOT = Path(__file__).parents[1]

MAX_BYTES = 20_000
"""Longer inputs are tried too seldom a second to be worth it."""

DOCUMENTS = ("job", "export", "book")
"""JSON of our own."""

WITH_BEGINNINGS = (*DOCUMENTS, "picture")
"""Kinds whose module makes what a run begins with."""

READERS = {
    "svg": ("core.artwork.svg", "read_svg", ["core.artwork.svg"]),
    "dxf": ("core.artwork.dxf.reading", "read_dxf", ["core.artwork.dxf"]),
    "pdf": ("core.artwork.pdf.reading", "read_pdf", ["core.artwork.pdf.reading"]),
    "picture": ("tests.fuzz_pictures", "read_any", ["core.artwork.pictures"]),
    "job": ("tests.fuzz_documents", "read_job", ["core.job.as_data", "core.job.job_file", "core.figures"]),
    "export": ("tests.fuzz_documents", "read_export", ["core.output.settings_document", "core.output.opening"]),
    "book": ("tests.fuzz_documents", "read_book", ["core.shop_book.exchange", "core.shop_book.store"]),
}
"""Module, function, and the modules whose branches guide the search."""

MADE = {
    "svg": """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<style>.a>b,#c{fill:red;stroke-width:2!important}</style>
<defs><clipPath id="k"><circle r="5%"/></clipPath><mask id="m"><rect width="9" height="9" fill="#fff"/></mask>
<symbol id="s" viewBox="0 0 1 1"><path d="M0 0h1v1z"/></symbol><marker id="t"><path d="M0 0L1 1"/></marker>
<linearGradient id="l"><stop offset=".5" stop-opacity="0"/></linearGradient></defs>
<g transform="rotate(30) scale(2,-1) skewX(3)" clip-path="url(#k)" opacity=".4"><use href="#s" x="3"/></g>
<path class="a" mask="url(#m)" marker-end="url(#t)" d="M1,1c1-1 2.5.5 3e0 4s1 2,2 1q1 1 2 2t1 1a3 2 30 013 1Z"/>
<polyline points="1 1 2,2 3 1" stroke="#123" stroke-dasharray="1 2" fill="url(#l)"/>
<filter id="f"><feOffset in="SourceAlpha" dx="1" result="o"/><feFlood flood-color="#fff"/>
<feComposite in2="o" operator="in"/><feMerge><feMergeNode/><feMergeNode in="SourceGraphic"/></feMerge></filter>
<pattern id="p" width=".2" height=".2"><rect width="2" height="2"/></pattern>
<g filter="url(#f)" mask="url(#m)">
<circle id="c" r="3" fill="url(#p)" transform-origin="center" transform="scale(2)"/></g>
<text x="1 2" font-size="3">A<tspan dx="1" baseline-shift="super">b</tspan>
<textPath href="#c" startOffset="5%">cd</textPath></text><switch><g systemLanguage="en"/></switch></svg>""",
    "dxf": """0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC
0 SECTION 2 BLOCKS 0 BLOCK 2 B 70 0 10 0 20 0 0 LINE 8 0 10 0 20 0 11 1 21 1 0 ENDBLK 0 ENDSEC
0 SECTION 2 ENTITIES 0 LINE 8 0 10 0 20 0 11 5 21 5 0 ARC 8 0 10 1 20 1 40 3 50 0 51 90
0 INSERT 8 0 2 B 10 2 20 2 41 -1 70 2 71 2 44 3 45 3 0 LWPOLYLINE 8 0 90 2 70 1 10 0 20 0 42 1 10 3 20 0
0 SPLINE 8 0 70 8 71 3 72 8 73 4 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 0 20 0 10 1 20 2 10 2 20 2 10 3 20 0
0 TEXT 8 0 10 0 20 0 40 2 1 Ab 0 ENDSEC 0 EOF """.replace(" ", "\n"),
}
"""One small file of each kind with much in it; a PDF is drawn."""


def main() -> None:
    """Fuzz one reader for so long, starting from a made file and the sample jobs."""
    kind = sys.argv[1] if len(sys.argv) > 1 else ""
    if kind not in READERS:
        sys.exit(__doc__)
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is not installed: pip install atheris")
    seconds = int(sys.argv[2]) if len(sys.argv) > 2 else 240
    folder = Path(sys.argv[3]) if len(sys.argv) > 3 else Path(tempfile.mkdtemp(prefix=f"tain-fuzz-{kind}-"))
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["TAIN_STRICT"] = "1"
    module, function, guiding = READERS[kind]
    with atheris.instrument_imports(include=guiding):
        reading = importlib.import_module(module)
    read = getattr(reading, function)
    for number, data in enumerate(reading.beginnings(kind) if kind in WITH_BEGINNINGS else _beginnings(kind)):
        (folder / f"beginning-{number}").write_bytes(data)

    def one_input(data: bytes) -> None:
        with contextlib.suppress(UnreadableError):
            read(data, ReadOptions())

    most_mb = 2048 if kind == "picture" else 1024
    limits = ["-timeout=10", f"-rss_limit_mb={most_mb}", f"-max_total_time={seconds}", f"-artifact_prefix={folder}/"]
    mutate = {"svg": mutated_svg, "dxf": mutated_dxf}.get(kind)
    if kind in DOCUMENTS:
        mutate = reading.mutated_json
    elif kind == "picture":
        mutate = reading.mutated_picture

    def mutated(data: bytes, longest: int, seed: int) -> bytes:
        if mutate is None or seed % 2:
            changed: bytes = atheris.Mutate(data, longest)
            return changed
        return mutate(bytes(data), seed)[:longest]

    arguments = [sys.argv[0], *limits, f"-max_len={MAX_BYTES}", "-print_final_stats=1", str(folder)]
    atheris.Setup(arguments, one_input, custom_mutator=mutated)
    atheris.Fuzz()


def _beginnings(kind: str) -> list[bytes]:
    made = _drawn_pdf() if kind == "pdf" else MADE[kind].encode()
    folders = (ROOT / "sample_jobs", ROOT / "tests" / "fuzz_seeds")
    samples = [path.read_bytes() for folder in folders for path in sorted(folder.glob(f"*.{kind}"))]
    return [made, *(data for data in samples if len(data) <= MAX_BYTES)]


def _drawn_pdf() -> bytes:
    import io

    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(200, 100), pageCompression=0)
    canvas.setDash(4, 2)
    canvas.rect(10, 10, 50, 30, fill=1)
    clip = canvas.beginPath()
    clip.circle(100, 50, 30)
    canvas.clipPath(clip)
    canvas.bezier(0, 0, 50, 90, 100, 0, 180, 80)
    canvas.drawString(90, 50, "Ab")
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


if __name__ == "__main__":
    main()
