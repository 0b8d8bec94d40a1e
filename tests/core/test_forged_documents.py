"""Job files, exports and shop books with values changed at random: refused in a sentence, or whole."""

import json

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.reading import read_artwork
from core.errors import UnreadableError
from core.output.opening import job_from_artwork
from tests import fuzz_documents


@pytest.mark.parametrize(("kind", "count"), (("job", 250), ("export", 120), ("book", 60)))
def test_forged_documents_are_refused_in_a_sentence_or_whole(kind, count):
    (beginning,) = fuzz_documents.beginnings(kind)
    read = getattr(fuzz_documents, f"read_{kind}")
    read(beginning, ReadOptions())
    refused = 0
    for seed in range(count):
        try:
            read(fuzz_documents.mutated_json(beginning, seed), ReadOptions())
        except UnreadableError as error:
            refused += 1
            assert "\n" not in str(error) and "object has no attribute" not in str(error)
    assert refused > 0 or kind == "book"


@pytest.mark.parametrize(
    ("where", "value"),
    (
        ("face", "sideways"),
        ("turn_applied", 1),
        ("turn", "around"),
        ("sheet.height_mm", 10**400),
        ("sheet.width_mm", 1e308),
        ("sheet.width_mm", -1),
        ("sheet", [1, 2]),
        ("layers", {"a": 1}),
    ),
)
def test_an_export_that_says_nonsense_of_itself_is_refused_by_reading_and_opening_alike(where, value):
    (beginning,) = fuzz_documents.beginnings("export")
    document = json.loads(beginning)
    *path, last = where.split(".")
    at = document
    for part in path:
        at = at[part]
    at[last] = value
    source = fuzz_documents.svg_saying(json.dumps(document))
    for reading in (lambda: read_artwork(source, ReadOptions()), lambda: job_from_artwork(source)):
        with pytest.raises(UnreadableError):
            reading()
