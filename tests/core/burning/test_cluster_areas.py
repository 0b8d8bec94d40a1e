"""Areas of clusters and gaps by themselves, held against areas that are known in closed form."""

import numpy as np
import pytest

from core.burning.bared import baring_for
from core.burning.baring import reach_mm
from core.burning.cluster_areas import cluster_areas, gap_areas
from core.burning.dose import ClearingLine
from core.burning.strip_gaps import Passages
from core.burning.strips import NO_SPANS, Pieces, Spans, clusters_of

PITCH_MM = 0.1
LINE = ClearingLine(spot_mm=0.12, peak_j_mm2=1.2, clearing_dose_j_mm2=0.2)


@pytest.fixture(params=[1.0, 0.7], ids=["nothing adds", "hits add"])
def baring(request):
    return baring_for(LINE, request.param, y0_mm=0.0, pitch_mm=PITCH_MM)


def edges(*courses, sign):
    """Edges from (xa, ta) to (xb, tb), one strip each."""
    xa, ta, xb, tb, strip = np.array(courses, float).T
    return Pieces(owner=strip.astype(np.intp), xa=xa, ta=ta, xb=xb, tb=tb, sign=np.array(sign, float))


def totals(clusters, baring, **given):
    areas, gaps = cluster_areas(clusters, baring, **given), gap_areas(clusters, baring)
    return np.array(
        [getattr(areas, kind).sum() + getattr(gaps, kind).sum() for kind in ("region", "left_over", "spill")]
    )


def test_without_a_span_all_of_a_slanted_region_stays(baring):
    """A trapezium: 3 mm below and 2.6 mm above, one pitch high."""
    pieces = edges((1.0, 0.0, 1.2, PITCH_MM, 0), (4.0, 0.0, 3.8, PITCH_MM, 0), sign=(1, -1))
    clusters = clusters_of(pieces, NO_SPANS, baring.lattice)
    assert totals(clusters, baring) == pytest.approx([2.8 * PITCH_MM, 2.8 * PITCH_MM, 0.0], rel=1e-12)


def test_edges_that_end_within_a_strip_are_cut_there(baring):
    """A triangle whose tip lies in the strip, and a small rhomb wholly within it."""
    tip = edges((1.0, 0.0, 1.5, 0.08, 0), (2.0, 0.0, 1.5, 0.08, 0), sign=(1, -1))
    rhomb = edges(
        (5.0, 0.02, 4.9, 0.05, 0), (4.9, 0.05, 5.0, 0.08, 0), (5.0, 0.02, 5.1, 0.05, 0), (5.1, 0.05, 5.0, 0.08, 0),
        sign=(1, 1, -1, -1),
    )  # fmt: skip
    for pieces, area_mm2 in ((tip, 1.0 * 0.08 / 2), (rhomb, 0.2 * 0.06 / 2)):
        areas = cluster_areas(clusters_of(pieces, NO_SPANS, baring.lattice), baring)
        assert areas.region.sum() == pytest.approx(area_mm2, rel=1e-12) and not areas.doubt.any()


def spans_of(baring, x0, x1):
    slots = len(baring.lattice.slot_t)
    every = np.ones(slots, bool)
    return Spans(
        owner=np.zeros(slots, np.intp), slot=np.arange(slots), x0=np.full(slots, x0), x1=np.full(slots, x1),
        begin_counts=every, end_counts=every,
    )  # fmt: skip


def test_what_is_bared_beside_the_region_is_spilt_and_what_is_not_within_it_is_left(baring):
    """Rows long enough bare the whole height between them; the same length moved aside bares as much."""
    whole = np.array([(1 << len(baring.lattice.slot_t)) - 1])
    assert baring.height_mm(whole)[0] == pytest.approx(PITCH_MM)  # of rows at this pitch nothing stays between them
    pieces = edges((1.0, 0.0, 1.0, PITCH_MM, 0), (6.0, 0.0, 6.0, PITCH_MM, 0), sign=(1, -1))
    region, left_over, spill = totals(clusters_of(pieces, spans_of(baring, 1.0, 6.0), baring.lattice), baring)
    aside = totals(clusters_of(pieces, spans_of(baring, 3.0, 8.0), baring.lattice), baring)
    assert region == pytest.approx(5.0 * PITCH_MM) == aside[0]
    bared = region - left_over + spill
    assert aside[0] - aside[1] + aside[2] == pytest.approx(bared, rel=1e-3)
    assert aside[2] - spill / 2 == pytest.approx(2.0 * PITCH_MM, rel=1e-3)  # one end of it, and 2 mm


def test_what_lies_alike_is_alike_wherever_its_strip_is(baring):
    courses = [(x + d, 0.0, x + 0.1 + d, PITCH_MM, strip) for strip, x in ((0, 1.0), (3, 40.0)) for d in (0.0, 0.5)]
    areas = cluster_areas(clusters_of(edges(*courses, sign=(1, -1, 1, -1)), NO_SPANS, baring.lattice), baring)
    half = len(areas.region) // 2
    assert areas.region[:half].tolist() == areas.region[half:].tolist()


def test_a_cluster_of_very_many_edges_is_sampled_and_says_how_far_that_may_be_off(baring):
    x, tall = np.linspace(1.0, 2.0, 601), 0.06
    up = [(at, 0.01 + 0.03 * n / 601, at + 0.002, 0.01 + 0.03 * n / 601 + tall, 0) for n, at in enumerate(x)]
    pieces = edges(*up, *[(a + 0.001, t, b + 0.001, u, s) for a, t, b, u, s in up], sign=[1] * 601 + [-1] * 601)
    areas = cluster_areas(clusters_of(pieces, NO_SPANS, baring.lattice), baring)
    exact_mm2 = 601 * 0.001 * tall
    assert 0 < areas.doubt.sum() < 0.2 * exact_mm2
    assert abs(areas.left_over.sum() - exact_mm2) <= areas.doubt.sum()


def test_clusters_drawn_by_lot_stand_for_all_within_three_standard_errors(baring):
    random = np.random.default_rng(5)
    count = 600
    lean, wide = random.uniform(-0.04, 0.04, count), random.uniform(0.01, 0.06, count)
    at = np.arange(count) * 3.0
    left = [(x, 0.0, x + s, PITCH_MM, n) for n, (x, s) in enumerate(zip(at, lean, strict=True))]
    right = [(x + w, 0.0, x + w + s, PITCH_MM, n) for n, (x, s, w) in enumerate(zip(at, lean, wide, strict=True))]
    clusters = clusters_of(edges(*left, *right, sign=[1] * count + [-1] * count), NO_SPANS, baring.lattice)
    all_of_them, drawn = cluster_areas(clusters, baring), cluster_areas(clusters, baring, most=60)
    assert all_of_them.variance == (0.0, 0.0) and drawn.variance[0] > 0
    assert np.count_nonzero(drawn.left_over) < 200
    off_mm2 = abs(drawn.left_over.sum() - all_of_them.left_over.sum())
    assert off_mm2 <= 3 * drawn.variance[0] ** 0.5
    few = cluster_areas(clusters, baring, most=round(len(clusters) / 1.4))  # hardly fewer: all are
    assert few.left_over == pytest.approx(all_of_them.left_over, rel=1e-12)


def test_a_line_reaches_no_further_than_its_dose_counts():
    assert 0 < reach_mm(LINE, 1.0) <= reach_mm(LINE, 0.7) < 4 * LINE.spot_mm


def test_what_is_surely_bared_or_surely_not_is_so_for_every_pattern_of_rows(baring):
    patterns = np.arange(1 << len(baring.lattice.slot_t), dtype=np.int64)
    height_mm = baring.height_mm(patterns)
    never, _ = baring.sure(least=np.zeros_like(patterns), most=patterns)
    _, always = baring.sure(least=patterns, most=np.full_like(patterns, patterns[-1]))
    assert not height_mm[never].any() and height_mm[always] == pytest.approx(PITCH_MM, rel=1e-12)
    # and hardly any other is: what is not sure is worked out
    assert (height_mm == 0).sum() - never.sum() <= 0.02 * len(patterns) and never[0]
    assert (height_mm > (1 - 1e-9) * PITCH_MM).sum() - always.sum() <= 0.02 * len(patterns) and always[-1]


def test_clusters_without_edges_need_no_sampling_where_all_or_nothing_is_bared(monkeypatch):
    """The furthest row in reach parts for a little within the fill; out beyond it such a row begins and ends alone."""
    baring = baring_for(LINE, 0.0, y0_mm=0.0, pitch_mm=PITCH_MM / 2)
    slots, far = len(baring.lattice.slot_t), baring.lattice.reach - 1
    slot = np.append(np.arange(slots), [far, far])
    begins, ends = np.zeros(slots + 2), np.full(slots + 2, 2.0)
    ends[far], begins[-2], begins[-1], ends[-1] = 1.0, 1.1, 10.0, 12.0
    every, owner = np.ones(slots + 2, bool), np.zeros(slots + 2, np.intp)
    spans = Spans(owner=owner, slot=slot, x0=begins, x1=ends, begin_counts=every, end_counts=every)
    pieces = edges((-1.0, 0.0, -1.0, PITCH_MM / 2, 0), (3.0, 0.0, 3.0, PITCH_MM / 2, 0), sign=(1, -1))
    clusters = clusters_of(pieces, spans, baring.lattice)
    looked_at, plainly = [], type(baring).steps
    monkeypatch.setattr(
        type(baring), "steps", lambda self, some, lines: looked_at.append(len(some)) or plainly(self, some, lines)
    )
    areas = cluster_areas(clusters, baring)
    assert clusters.lo == pytest.approx([-1.0, -0.096, 0.904, 1.904, 3.0, 9.904, 11.904], abs=1e-9)
    assert looked_at == [4]  # both edges, and where the rows in the fill begin and end
    assert areas.region[[2, 5, 6]] == pytest.approx([clusters.width[2] * PITCH_MM / 2, 0.0, 0.0], rel=1e-12)
    assert not areas.left_over[[2, 5, 6]].any() and not areas.spill[[2, 5, 6]].any()


def test_gaps_lie_between_clusters_and_passages_wherever_anything_is(baring):
    """Strip 0: a hole between two passages. 1: two passages and two more. 2: an edge, then a passage that ends it. 3: a
    passage, then two edges, one of which begins another region, and a passage."""
    passages = Passages(
        strip=np.array([0, 0, 1, 1, 1, 1, 2, 3, 3]),
        x=np.array([1.0, 5.0, 1.5, 2.0, 7.0, 9.0, 4.0, 0.5, 8.0]),
        sign=np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0, -1.0, 1.0, -1.0]),
        left_over=np.zeros(9),
        spill=np.zeros(9),
    )
    upright = ((2.0, 0), (3.0, 0), (1.0, 2), (3.0, 3), (6.0, 3))
    pieces = edges(*((x, 0.0, x, PITCH_MM, strip) for x, strip in upright), sign=(-1, 1, 1, -1, 1))
    slots = len(baring.lattice.slot_t)
    every = (1 << slots) - 1
    rows_begin = np.repeat([0, 2, 3, 0, 3], slots)  # rows part at the edges, too
    here = np.repeat([True, True, True, False, False], slots)
    spans = Spans(
        owner=rows_begin, slot=np.tile(np.arange(slots), 5), x0=np.repeat([3.0, 1.0, 6.0, 0.0, 0.0], slots),
        x1=np.repeat([9.0, 9.0, 9.0, 2.0, 3.0], slots), begin_counts=here, end_counts=~here,
    )  # fmt: skip
    clusters = clusters_of(pieces, spans, baring.lattice, passages)
    gaps = clusters.gaps
    order = np.lexsort((gaps.lo, gaps.strip))
    out, in_ = baring.lattice.outward_mm, baring.lattice.inward_mm
    wanted = [
        *[(0, 1.0, 2.0 - in_), (0, 3.0 + in_, 5.0), (1, 1.5, 2.0), (1, 7.0, 9.0), (2, 1.0 + in_, 4.0)],
        *[(3, 0.5, 3.0 - in_), (3, 6.0 + in_, 8.0)],
    ]
    told = np.column_stack([gaps.strip, gaps.lo, gaps.hi])[order]
    assert told == pytest.approx(np.array(wanted), abs=1e-9)
    assert gaps.inside.all() and (gaps.covered == every).all()
    assert clusters.lo == pytest.approx([2 - in_, 3 - out, 1 - out, 3 - in_, 6 - out], abs=1e-9)
    assert clusters.inside.tolist() == [True, False, False, True, False]
    assert clusters.covered.tolist() == [every, 0, 0, every, 0]
    none = edges((0.0, 0.0, 0.0, 0.0, 0), sign=(1,))
    none = Pieces(**{name: getattr(none, name)[:0] for name in ("owner", "xa", "ta", "xb", "tb", "sign")})
    alone = clusters_of(none, NO_SPANS, baring.lattice, passages).gaps
    assert alone.lo.tolist() == [1.0, 1.5, 7.0, 0.5] and alone.hi.tolist() == [5.0, 2.0, 9.0, 8.0]


@pytest.mark.parametrize("going_on", [15, 20, 25])
def test_rows_of_a_fine_pitch_are_told_apart_however_many_reach(going_on):
    """Of 52 rows all but some end at 10 mm: those that go on alone bare nothing."""
    pitch_mm = PITCH_MM / 20
    line = ClearingLine(spot_mm=0.12, peak_j_mm2=0.0175, clearing_dose_j_mm2=0.2)
    baring = baring_for(line, 0.0, y0_mm=0.0, pitch_mm=pitch_mm)
    slots = len(baring.lattice.slot_t)
    every, slot = np.ones(slots, bool), np.arange(slots)
    ends = np.where(slot < going_on, 20.0, 10.0)
    spans = Spans(
        owner=np.zeros(slots, np.intp), slot=slot, x0=np.zeros(slots), x1=ends, begin_counts=every, end_counts=every
    )
    pieces = edges((-1.0, 0.0, -1.0, pitch_mm, 0), (30.0, 0.0, 30.0, pitch_mm, 0), sign=(1, -1))
    clusters = clusters_of(pieces, spans, baring.lattice)
    areas = cluster_areas(clusters, baring)
    height_mm = baring.height_mm(np.array([(1 << slots) - 1, (1 << going_on) - 1]))
    assert slots == 52 and height_mm[0] == pytest.approx(pitch_mm) and not height_mm[1]
    stays = areas.left_over[2] / (clusters.width[2] * pitch_mm)  # where they end, from all bared to nothing
    assert 0.3 < stays < 0.9
