"""Map, labels, packing list, proof and offer, read back as text by pdfium: whose part is which, and where it lies."""

import re
import unicodedata
from datetime import date

import pypdfium2
import pytest
import shapely

from core.geometry.affine import apply_to_region
from core.job.costs.rates import Rates
from core.job.letterhead import Letterhead
from core.order.order import Order
from core.order.parts import OrderedPart
from core.order.sheet_jobs import body_box_mm
from core.order.working_out import work_out
from core.output.orders.customer_pages import offered_words, shown_work, work_cost
from core.output.orders.files import figures_text
from core.output.orders.label_sheets import label_sheets
from core.output.orders.map_pages import label_pages, map_pages
from core.output.orders.offer_page import offer_of, offer_page
from core.output.orders.pages import Words
from core.output.orders.proof_page import proof
from core.output.orders.reckoning import reckoned
from core.sheet.faces import turn_matrix
from core.sheet.placement import placement_matrix
from tests.core.order.designs import order_of

NAMES = (
    "Anna Bérg",
    "Łukasz Żółtowski",
    "\u05d3\u05d5\u05d3 \u05db\u05d4\u05df",
    "Ελένη Παππά",
    "Bo",
    "Kim <b>Lee</b>",
    "Ada & Zoë",
)
PT = 72 / 25.4
RATES = Rates(currency="EUR", machine_per_h=60.0, handwork_per_h=30.0, tax_pct=20.0, breaks=((10, 10.0),))


@pytest.fixture(scope="module")
def worked():
    rows = "".join(f"{name},Role {number}\n" for number, name in enumerate(NAMES, 1))
    return work_out(order_of(f"Name,Role\n{rows}"))


@pytest.fixture(scope="module")
def taken(worked):
    return reckoned(worked, RATES, {})


def pages(data):
    document = pypdfium2.PdfDocument(data)
    try:
        return [page.get_textpage().get_text_range().replace("\r", "") for page in document]
    finally:
        document.close()


def said_as(name):
    """A pattern: pdfium does not turn the order of words of right-to-left names round in a line of both directions."""
    words = name.split()
    if not any(unicodedata.bidirectional(letter) == "R" for letter in name):
        return re.escape(name)
    return f"(?:{re.escape(name)}|{re.escape(' '.join(reversed(words)))})"


def squares(data, page):
    """How many boxes to tick are drawn on a page: rectangles of equal small sides."""
    document = pypdfium2.PdfDocument(data)
    try:
        found = [one.get_bounds() for one in document[page].get_objects() if one.type == 2]
    finally:
        document.close()
    sides = [(right - left, top - bottom) for left, bottom, right, top in found]
    return sum(6 < wide < 13 and abs(wide - high) < 0.5 for wide, high in sides)


def test_the_map_says_whose_part_lies_on_which_sheet(worked, taken):
    data = map_pages(worked, taken)
    said = pages(data)
    assert len(worked.sheets) == 2 and len(said) == 3
    for number, sheet in enumerate(worked.sheets, 1):
        page = said[number - 1]
        assert f"Sheet {number} of 2" in page and f"{len(sheet.laid.places)} parts" in page
        for place in sheet.laid.places:
            assert re.search(rf"\b{place.part}\s+{said_as(NAMES[place.part - 1])}, Role {place.part}\b", page), page
        others = set(range(1, 8)) - {place.part for place in sheet.laid.places}
        assert not any(f"Role {one}" in page for one in others)
        assert squares(data, number - 1) == len(sheet.laid.places)
    assert squares(data, 2) == len(NAMES)


def test_numbers_stand_on_the_parts_as_they_lie_on_the_bed(worked, taken):
    """Where each number is printed, beside where the part's box lies on the turned sheet."""
    document = pypdfium2.PdfDocument(map_pages(worked, taken))
    for at, sheet in enumerate(worked.sheets):
        page = document[at].get_textpage()
        letters = [(page.get_text_range(n, 1), page.get_charbox(n)) for n in range(page.count_chars())]
        to_bed = turn_matrix(sheet.job.turn, sheet.job.sheet)
        box = shapely.box(*body_box_mm(worked.filled.filled[1]))
        expected = {}
        for place in sheet.laid.places:
            to_front = placement_matrix(place.x_mm, place.y_mm, place.rotation_deg)
            middle = apply_to_region(to_bed, apply_to_region(to_front, box)).centroid
            expected[str(place.part)] = (middle.x, middle.y)
        # the first letters after the head's that are nothing but a number, each on its own part
        found = {}
        for letter, (left, bottom, right, top) in letters:
            if letter in expected and 300 < (bottom + top) / 2 < 760:
                found.setdefault(letter, []).append(((left + right) / 2, (bottom + top) / 2))
        first, last = sheet.laid.places[0].part, sheet.laid.places[-1].part
        (x1, y1), (x2, y2) = expected[str(first)], expected[str(last)]
        fits = [
            (p, q)
            for p in found[str(first)]
            for q in found[str(last)]
            if all(
                any(
                    abs(x - (p[0] + (q[0] - p[0]) * (ex - x1) / (x2 - x1 or 1e9))) < 2
                    and abs(y - (p[1] + (q[1] - p[1]) * (ey - y1) / (y2 - y1 or 1e9))) < 2
                    for x, y in found[name]
                )
                for name, (ex, ey) in expected.items()
            )
            and (q[0] - p[0]) * (x2 - x1) >= 0
        ]
        assert fits, (expected, found)
    document.close()


def test_what_it_takes_stands_for_each_sheet_and_all(worked, taken):
    said = "\n".join(pages(map_pages(worked, taken)))
    for one in (*taken.sheets, taken.whole):
        assert f"{one.cost.total:.2f} EUR" in said and f"{one.fill_mm2 / 100:.1f} cm²" in said
        assert f"{one.left_over_pct:.1f} %" in said
    assert taken.whole.time.best_s == pytest.approx(sum(sheet.plan.time_s for sheet in worked.sheets))
    assert taken.whole.parts == 7 and taken.whole.paints
    for paint in taken.whole.paints:
        assert paint.volume_ml == pytest.approx(
            sum(one.volume_ml for sheet in taken.sheets for one in sheet.paints if one.paint == paint.paint)
        )
        assert f"{paint.paint} {paint.volume_ml:.1f} ml" in said
    data = figures_text(worked, taken, ())
    for key in ("fill_mm2", "left_over_mm2", "spill_mm2", "paint", "cost", "time_s"):
        assert data.count(f'"{key}"') >= 3, key  # two sheets and all


def test_packing_goes_by_the_list(worked, taken):
    last = pages(map_pages(worked, taken))[-1]
    places = [re.search(said_as(name), last).start() for name in NAMES]
    assert "Packing, in the order of the list: 7 parts" in last and places == sorted(places)
    for number in (1, 2, 4, 5, 6, 7):  # pdfium mixes figures of the third row up, which runs both ways
        sheet = 1 if number <= len(worked.sheets[0].laid.places) else 2
        assert re.search(rf"\b{number}\s+{number + 1}\s+{sheet}\s", last)


def test_a_label_for_each_part_with_its_number_and_sheet(worked):
    said = "\n".join(pages(label_pages(worked)))
    for number, name in enumerate(NAMES, 1):
        assert f"No. {number}" in said and re.search(said_as(name), said) and f"Role {number}" in said
    on_second = len(worked.sheets[1].laid.places)
    assert said.count("sheet 2") == on_second and said.count("sheet 1") == 7 - on_second


LONG = (
    "The Gullwick and Lower Saltings Amateur Rowing, Sailing and Cold Water Swimming Association of Friends",
    "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft",
    "words " * 120,
)


def test_labels_lie_on_a_grid_of_70_by_37_mm_however_long_the_names_are():
    names = (*LONG, "Bo")
    many = [
        OrderedPart(number=n, row=n + 1, copy=1, values=(("name", names[n % 4]), ("role", f"Role {n}")))
        for n in range(1, 31)
    ]
    document = pypdfium2.PdfDocument(label_sheets([(one, 1) for one in many], "Labels"))
    try:
        assert len(document) == 2
        for at, one in enumerate(many):  # ISO 216: A4 is 210 x 297 mm; 8 x 37 mm leave half a millimetre at either edge
            row, column = divmod(at % 24, 3)
            page = document[at // 24]
            assert page.get_size() == pytest.approx((210 * PT, 297 * PT), abs=0.01)
            left, top = 70 * column, 0.5 + 37 * row
            edges = left, 297 - top - 37, left + 70, 297 - top
            said = page.get_textpage().get_text_bounded(*(edge * PT for edge in edges))
            numbers = re.findall(r"(?:No\.|Role) (\d+)", said)
            assert numbers == [str(one.number)] * 2 and said.count("sheet 1") == 1
        for page in document:
            for thing in page.get_objects():
                x0, y0, x1, y1 = (edge / PT for edge in thing.get_bounds())
                if x1 - x0 > 100 or y1 - y0 > 100:  # a line of the grid
                    continue
                column, row = int(x0 // 70), int((296.5 - y1) // 37)
                assert x0 >= 70 * column + 4 and x1 <= 70 * column + 66
                assert y1 <= 296.5 - 37 * row - 4 and y0 >= 296.5 - 37 * (row + 1) + 4
    finally:
        document.close()


def test_the_proof_has_every_name_in_reading_order(worked):
    letterhead = Letterhead(name="Gullwick Signs", address="3 Landing Stage; Gullwick")
    said = "\n".join(pages(proof(shown_work(worked.order), letterhead, customer="Rowing club")))
    places = [re.search(said_as(name), said).start() for name in NAMES]
    assert places == sorted(places)
    for words in ("Gullwick Signs", "for Rowing club", "No. 1, as seen from the front, true size", "49.8 x 15.8 mm",
                  "mirrored acrylic 3 mm", "7 pieces", "stays as it is", "black", "blue",
                  "Colours on a screen", "tone of the coat", "place and date", "name, signature"):  # fmt: skip
        assert words in said


def test_the_offer_is_one_page_and_holds_for_its_days(worked):
    cost = work_cost(worked.order, RATES, {})
    offer = offer_of(cost, offered_words(worked.order), day=date(2026, 3, 2), number="7", customer="Rowing club")
    said = pages(offer_page(offer, Letterhead(name="Gullwick Signs", valid_days=14, terms="Paid within 14 days.")))
    assert len(said) == 1
    price = offer.positions[0].price
    assert price.quantity == 7 and price.gross == pytest.approx(price.net + price.tax)
    for words in ("Offer 7", "for Rowing club", "2026-03-02", "holds until 2026-03-16", "plate, mirrored acrylic 3 mm",
                  f"{price.each:.2f} EUR", f"{price.net:.2f} EUR", "Tax, 20 %", f"{price.gross:.2f} EUR",
                  "Other quantities", "10", "Paid within 14 days."):  # fmt: skip
        assert words in said[0]
    empty = pages(offer_page(offer, Letterhead()))[0]
    assert "not set yet" in empty


def test_long_words_are_broken_not_made_tiny():
    flowable = Words("Maximiliane-Charlotte von Tannenberg-Hohenlinden of the Honorary members", 10.0, 120.0)
    assert flowable.width <= 120.0 and flowable.height > 2 * 10.0
    assert Words("Bo", 10.0, 120.0).height < 13.0


def test_an_order_that_is_one_job_is_shown_as_one(worked):
    shown = shown_work(Order(design=worked.sheets[1].job))
    assert shown.quantity == 1 and len(shown.pieces) == 1
