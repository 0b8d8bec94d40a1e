"""Every sample on one scratched, odd-shaped offcut: nothing shows, no place of a 1 mm grid is better, done, undone."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely

from core.job.burned import cleared_region, cut_away, finished_region, marked_region
from core.job.fitting import job_footprint, place_job, with_place
from core.sheet.flaws import shown_flaws
from core.sheet.ground import RIGHT_ANGLES_DEG, PlacingOptions, Turned, ground_of, measured
from core.sheet.offcuts import piece_region, sheet_region
from core.sheet.remainders import remainders
from core.shop_book.rack import add_piece, put_back, rack_pieces, undo_put_back
from core.shop_book.store import open_book
from tests.core.job.test_fitting import OFFCUT, SAMPLES, on_the_offcut, plan_of

KEPT = PlacingOptions(edge_mm=2.0)
NAMES = sorted(path.name for path in SAMPLES.iterdir() if path.suffix in (".svg", ".dxf"))


def better_on_the_grid(footprint, sheet, found):
    """A place of the 1 mm grid, measured with exact regions, that beats the one found; None when there is none.

    Places whose rest is not larger can't beat one at which nothing shows, and where the job's hull reaches over the
    sheet's hull or some of its corners lie off the sheet it does not fit, so only the others are measured.
    """
    ground = ground_of(sheet, KEPT)
    x0, y0, x1, y1 = sheet_region(sheet).bounds
    for angle_deg in RIGHT_ANGLES_DEG:
        turned = Turned(footprint, angle_deg)
        u0, v0, u1, v1 = turned.bounds
        xs, ys = np.arange(x0 - u0, x1 - u1 + 1e-9), np.arange(y0 - v0, y1 - v1 + 1e-9)
        if not len(xs) or not len(ys):
            continue
        rest = np.maximum(ground.rest.across(u0 + xs, u1 + xs)[None, :], ground.rest.down(v0 + ys, v1 + ys)[:, None])
        maybe = (rest > found.rest_mm2 + 1e-6) & in_hull(sheet_region(sheet), turned.burned, xs, ys)
        for row, column in np.argwhere(maybe)[corners_on(ground, turned, xs, ys, maybe)]:
            there = measured(ground, turned, float(xs[column]), float(ys[row]))
            if there is not None and there.rank < found.rank:
                return there
    return None


def in_hull(room, shape, xs, ys):
    """Where the shape's hull lies in the room's hull: on the right side of each of its edges."""
    corners = shapely.get_coordinates(shapely.orient_polygons(room.convex_hull))
    hull = shapely.get_coordinates(shape.convex_hull)
    inside = np.ones((len(ys), len(xs)), bool)
    for (ax, ay), (bx, by) in itertools.pairwise(corners):
        normal = np.array([ay - by, bx - ax]) / np.hypot(bx - ax, by - ay)
        least = normal @ [ax, ay] - (hull @ normal).min() - 1e-6
        inside &= normal[0] * xs[None, :] + normal[1] * ys[:, None] >= least
    return inside


def corners_on(ground, turned, xs, ys, maybe):
    """At which of these places some 40 corners of the shape lie on one part of the sheet, all of them."""
    corners = shapely.get_coordinates(turned.burned)
    corners = corners[:: max(1, len(corners) // 40)]
    rows, columns = np.nonzero(maybe)
    x, y = xs[columns, None] + corners[:, 0], ys[rows, None] + corners[:, 1]
    return np.any([shapely.intersects_xy(room, x, y).all(axis=1) for room in ground.grown], axis=0)


@pytest.mark.parametrize("name", NAMES)
def test_a_sample_on_the_scratched_offcut(name, tmp_path):
    plan = plan_of(on_the_offcut(name))
    found = place_job(plan)
    there = plan_of(with_place(plan.job, found))
    nothing_shows(there, found)
    footprint, sheet = job_footprint(plan), plan.job.sheet
    assert better_on_the_grid(footprint, sheet, found) is None
    assert better_on_the_grid(footprint, sheet, replace(found, rest_mm2=found.rest_mm2 / 2)) is not None  # it can fail
    done_and_undone(there, name, tmp_path / "book.sqlite")


def nothing_shows(there, found):
    assert found.shown_mm2 == 0.0
    assert not [finding for finding in there.findings if finding.code in ("off-sheet", "flaw-shows", "near-edge")]
    finished = finished_region(there.layers)
    assert shown_flaws(there.job.sheet, finished, cleared_region(there.layers)) == ()
    assert sheet_region(there.job.sheet).contains(finished)
    a, b, c, d, _, _ = there.drawing_to_front  # never mirrored
    assert a * d - b * c == pytest.approx(1.0)


def done_and_undone(plan, name, path):
    """The remainder is in the rack, and undone it is the piece again."""
    with open_book(path) as book:
        piece = add_piece(book, "R7", OFFCUT)
        left = remainders(OFFCUT, cut_away(plan), marked=marked_region(plan))
        entries = put_back(book, piece.uuid, left, job_name=name)
        on_rack = {entry_id: value for entry_id, _, value in rack_pieces(book)}
        assert piece.uuid not in on_rack and {entry.uuid for entry in entries} == set(on_rack)
        whole = piece_region(OFFCUT)
        kept = sum(piece_region(value).area for value in on_rack.values())
        assert kept + left.waste.area + left.taken.area == pytest.approx(whole.area, rel=5e-3)
        assert left.taken.area == pytest.approx(shapely.intersection(cut_away(plan), whole).area, rel=1e-6)
        assert undo_put_back(book, piece.uuid).value == OFFCUT
        assert [uuid for uuid, _, _ in rack_pieces(book)] == [piece.uuid]
