"""``tain reread``: a job on the newest state of its artwork, without a window."""

import argparse
import json
from pathlib import Path

from core.artwork.sources import load_source
from core.errors import JobError
from core.job.job_file import load_job, save_job
from core.job.rereading import Reread, reread

SUMMARY = "A job's artwork read again, or other artwork in its place: every decision goes with its shape."
EXAMPLES = (
    "tain reread sign.tain",
    "tain reread sign.tain drawn/sign-v2.svg -o sign-v2.tain",
    "tain reread sign.tain -o sign.tain --force --json",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain reread``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain)")
    parser.add_argument(
        "artwork",
        type=Path,
        nargs="?",
        metavar="ART",
        help="left out: the file of its name beside the job",
    )
    parser.add_argument("-o", "--output", type=Path, metavar="OUT", help="OUT.tain; left out: only say what is new")
    parser.add_argument("--force", action="store_true", help="overwrite OUT")
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Read, follow, write. Returns the exit code; raises TainError for the caller to say."""
    job = load_job(arguments.job)
    if job.source is None:
        raise JobError(f"{arguments.job.name} has no artwork.", hint="tain prepare ART -o JOB.tain makes a job.")
    artwork = arguments.artwork or arguments.job.with_name(job.source.name)
    found = reread(job, load_source(artwork))
    if arguments.output is not None:
        save_job(found.job, arguments.output, overwrite=arguments.force)
    if arguments.json:
        print(json.dumps(_as_data(found, artwork, arguments.output), ensure_ascii=False))
        return 0
    print(f"{artwork.name}: {found.words}")
    if arguments.output is not None:
        print(f"wrote {arguments.output}")
    return 0


def _as_data(found: Reread, artwork: Path, output: Path | None) -> dict[str, object]:
    shapes = found.followed
    return {
        "artwork": str(artwork),
        "as_before": len(shapes.now) - len(shapes.changed),
        "changed": list(shapes.changed),
        "new": list(shapes.new),
        "gone": list(shapes.gone),
        "decisions": {"kept": found.kept, "dropped": found.dropped},
        "output": str(output) if output is not None else None,
    }
