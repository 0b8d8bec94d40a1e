"""A piece as it is given: places typed in with their units, the largest outline of a file with its holes."""

import pytest
import shapely

from core.errors import UnreadableError
from core.sheet.offcuts import region_of
from core.sheet.piece_given import outline_in, points_mm


def test_places_in_either_unit():
    assert points_mm("0,0 120,0; 90.5,80") == ((0, 0), (120, 0), (90.5, 80))
    assert points_mm("1,2 10mm,0", default_unit="in") == ((25.4, 50.8), (10, 0))


@pytest.mark.parametrize("text", ("1", "1,2,3", "1;2", "a,b", "1,", "nan,1", "1,1e12"))
def test_what_is_no_place_is_refused(text):
    with pytest.raises(UnreadableError):
        points_mm(text)


def test_the_largest_outline_of_a_file_is_the_piece(tmp_path):
    file = tmp_path / "offcut.svg"

    def draw(data):
        head = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
        file.write_text(f'{head}<path d="{data}" fill="none" stroke="#000"/><path d="M0 0L9 9" stroke="#000"/></svg>')

    draw("M10 10h60v40h-60z M20 20v10h10v-10z M80 10h5v5h-5z")
    piece = region_of(outline_in(file))
    assert piece.area == pytest.approx(60 * 40 - 100) and len(shapely.get_parts(piece)) == 1
    draw("M0 0h5")
    with pytest.raises(UnreadableError, match="no closed outline"):
        outline_in(file)
