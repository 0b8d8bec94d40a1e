"""``tain show``: the settings inside an exported or saved file."""

import argparse
import json
from pathlib import Path

from core.figures import said
from core.output.opening import recipe_in, settings_in
from core.units import duration_text

SUMMARY = "The settings document inside an exported SVG or DXF, or of a job file."
EXAMPLES = (
    "tain show bed.svg",
    "tain show bed.dxf --json",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain show``."""
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--json", action="store_true", help="print the document as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Print the document. Raises TainError for the caller to say."""
    document = settings_in(arguments.file)
    if arguments.json:
        print(json.dumps(document, ensure_ascii=False, indent=1))
        return 0
    sheet = document["sheet"]
    print(
        f"{arguments.file.name}: {document['face']} face, turned {document['turn']}, from {document['artwork']['name']}"
    )
    print(f"  sheet {sheet['width_mm']:g} x {sheet['height_mm']:g} x {sheet['thickness_mm']:g} mm, {sheet['stock']}")
    print(f"  machine {document['machine']['name']}, run time {duration_text(document['time_s'])}")
    for layer in document["layers"]:
        recipe = recipe_in(layer)
        words = ", ".join(said(recipe, layer["purpose"]))
        print(f"  {layer['order']} {layer['name']} ({layer['purpose']}): {words}; from: {recipe.origin.kind}")
    for caution in document["cautions"]:
        print(f"  [{'x' if caution['ticked'] else ' '}] {caution['message']}")
    print(f"  {document['last_word']}")
    return 0
