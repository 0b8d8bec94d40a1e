"""The account adds up on files of the open sets, vector drawings and PDF pages; areas and lengths against GEOS.

A sample of each set, always the same. Outside source: GEOS (https://libgeos.org) for the union of what is painted and
for the length of what is traced.
"""

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.reading import load_source, read_artwork
from core.errors import TainError
from tests.core.artwork.adding_up import assert_adds_up
from tests.references.corpora import CORPORA, PDF_CORPORA, Corpus, CorpusMissingError, files_of, sample

FILES_PER_SET, PAGES_PER_SET = 5, 3
LARGEST_PAGE_BYTES = 60_000

pytestmark = pytest.mark.timeout(900)  # sets are fetched the first time


@pytest.mark.parametrize("corpus", (*CORPORA, *PDF_CORPORA), ids=lambda corpus: corpus.name)
def test_nothing_read_is_lost(corpus: Corpus) -> None:
    try:
        if corpus in PDF_CORPORA:
            small = [path for path in files_of(corpus) if path.stat().st_size <= LARGEST_PAGE_BYTES]
            paths = sample(small, PAGES_PER_SET)
        else:
            paths = sample(files_of(corpus), FILES_PER_SET)
    except CorpusMissingError as error:
        pytest.skip(f"Not looked at: {error}")
    for path in paths:
        try:
            drawing = read_artwork(load_source(path), ReadOptions())
        except TainError:
            continue  # said in words; nothing was read
        assert_adds_up(drawing)
