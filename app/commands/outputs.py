"""Where a command writes bed files and jobs to."""

import argparse
from pathlib import Path


def add_outputs(parser: argparse.ArgumentParser) -> None:
    """``-o OUT``, repeatable: the suffix says which form each file gets."""
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        action="append",
        required=True,
        metavar="OUT",
        help="OUT.svg, OUT.dxf or OUT.tain; may be given several times",
    )
