"""The account of a job: repairs and answers move shapes from one fate to another, none is lost."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from core.artwork.account import Account
from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import load_source, read_artwork
from core.artwork.sorting.rules import parse_rule
from core.geometry.flattening import path_length_mm
from core.job.job import Job, new_job, with_overrides
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.output.export import export_bytes
from core.purposes import LEAVE_OUT

FAULTY = Path(__file__).parents[3] / "sample_jobs" / "faulty-door-sign.svg"
REPAIRS = ("drop-off-page", "join-ends", "drop-doubled-lines", "drop-specks:0.063301")

LINES = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<line x1="10" y1="10" x2="40" y2="10" stroke="#000" stroke-width=".1"/>
<path d="M10 20H40" stroke="#f00" stroke-width=".1"/>
<rect x="10" y="25" width="10" height="10" fill="#fc0" stroke="#00f" stroke-width=".1"/></svg>"""


def laid(job: Job) -> Plan:
    return next(plan_steps(job))


@cache
def faulty() -> Job:
    return new_job(load_source(FAULTY))


@cache
def lines() -> Job:
    return new_job(ArtworkSource(name="lines.svg", data=LINES))


@cache
def counted() -> Account:
    return laid(faulty()).account


@pytest.mark.parametrize("repairs", [*((one,) for one in REPAIRS), REPAIRS], ids="+".join)
def test_repairs_lose_nothing(repairs):
    account = laid(replace(faulty(), repairs=repairs)).account
    assert (account.shapes, account.read) == (counted().shapes, counted().read)


def test_every_answer_keeps_the_sum():
    plan = laid(faulty())
    everything = [shape.id for shape in plan.drawing.shapes]
    for layer in (*(one.id for one in plan.job.layers), LEAVE_OUT):
        account = laid(with_overrides(plan.job, everything, layer)).account
        assert account.read == counted().read
        assert sum(account.length_mm.values()) == pytest.approx(account.read_mm)
        assert sum(account.area_mm2.values()) == pytest.approx(account.read_mm2)
    assert account.count("left_out") == len(everything)


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_plain_lines_and_the_lines_of_filled_shapes_reach_the_exports(suffix):
    """The commonest lines, which have no fill attribute, and the thin line round an area of another colour."""
    job = replace(lines(), rules=(parse_rule("stroke:#00f=score"),))
    plan = prepare(job)
    assert plan.questions == () and plan.account.count("scored") == 3
    exported = read_artwork(ArtworkSource(name=f"out{suffix}", data=export_bytes(plan, suffix)), ReadOptions())
    scored = [shape for shape in exported.shapes if shape.source_layer == "score"]
    assert sum(path_length_mm(shape.path) for shape in scored) == pytest.approx(30 + 30 + 40, abs=0.05)


def test_a_rule_gives_way_to_the_maker_s_word_about_a_shape():
    job = replace(lines(), rules=(parse_rule("stroke:#00f=score"),))
    plan = laid(with_overrides(job, ["s3.line"], LEAVE_OUT))
    assert plan.layer_of["s3.line"] == LEAVE_OUT and plan.account.count("left_out") == 1
