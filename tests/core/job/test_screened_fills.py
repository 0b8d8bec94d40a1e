"""Screened pictures in a job: tones are what is wanted, beside solid shapes, under them, several, copied, in files."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from core.artwork.drawing import ArtworkSource
from core.artwork.picture_decisions import PictureOptions, ScreenOptions
from core.burning.dose import across_share, span_share
from core.errors import Cancelled, JobError
from core.job.advising import advise_layer
from core.job.file_sizes import dxf_bytes, svg_bytes
from core.job.headlines import layer_headline
from core.job.job import Job, new_job
from core.job.painting.colouring import suggested_paints
from core.job.plan import LayerPlan, Plan
from core.job.prepare import prepare
from core.job.report import report_data
from core.job.screen_costs import screen_costs
from core.job.setting import with_setting
from core.output.export import exported
from core.sheet.placement import Repeat, Sheet
from tests.core.artwork.pictures.made_pictures import file_bytes


def ramp(width: int = 120, height: int = 60) -> Image.Image:
    """From white at the left to black."""
    return Image.fromarray(np.linspace(255, 0, width).round().astype(np.uint8)[None, :].repeat(height, axis=0))


def job_of(source: ArtworkSource, *, lpi: float = 300, **screen: object) -> Job:
    job = new_job(source)
    picture = PictureOptions(way="screen", bared_is="dark", screen=ScreenOptions(**screen))  # type: ignore[arg-type]
    job = replace(
        job, reading=replace(job.reading, picture=picture), sheet=Sheet(width_mm=90, height_mm=60, thickness_mm=3)
    )
    return with_setting(job, "fill", "lines_per_inch", f"{lpi:g}")


def ramp_file(dpi: float = 127) -> ArtworkSource:
    """24 x 12 mm at 127 dots an inch."""
    return ArtworkSource(name="ramp.png", data=file_bytes(ramp(), dpi=(dpi, dpi)))


def svg_of(body: str) -> ArtworkSource:
    import base64

    data = base64.b64encode(file_bytes(ramp())).decode()
    body = body.replace("IMAGE", f"data:image/png;base64,{data}")
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">{body}</svg>'
    return ArtworkSource(name="sign.svg", data=text.encode())


def fill_of(plan: Plan) -> LayerPlan:
    return next(layer for layer in plan.layers if layer.layer.purpose == "fill" and layer.verdict is not None)


@pytest.mark.parametrize("kind", ["lines", "dots", "grain"])
def test_a_screen_that_holds_its_tones_is_no_fill_with_lines(kind: str) -> None:
    plan = prepare(job_of(ramp_file(), kind=kind, fit_tones=True))
    layer = fill_of(plan)
    assert layer.verdict is not None and layer.coverage is not None and layer.screen is not None
    assert layer.verdict.verdict == "clean" and layer.verdict.words.startswith("Holds its tones")
    assert not any(finding.code in ("leaves-lines", "picture-clipped") for finding in plan.findings)
    # half of the rectangle in the mean, drawn into the 75 % that rows 0.085 mm apart bare
    assert layer.area_mm2 == pytest.approx(24 * 12 * 0.5 * layer.screen.darkest, rel=0.01)
    assert layer.coverage.left_over_pct < 3.0
    assert layer_headline(plan.job, layer).words.startswith(("Holds its tones", "Tones held at the best figures"))
    told = report_data(plan)["layers"][0]
    assert told["coverage"]["left_over_pct"] == pytest.approx(layer.coverage.left_over_pct)
    assert "tones held" in (layer.chance.words if layer.chance else "")


def test_tones_that_the_recipe_can_not_bare_are_left_over() -> None:
    plan = prepare(job_of(ramp_file()))
    layer = fill_of(plan)
    assert layer.verdict is not None and layer.coverage is not None and layer.screen is not None
    assert layer.verdict.verdict == "leaves lines"
    assert re.match(r"Leaves lines in 2\d % of the picture", layer.verdict.words)
    most = layer.screen.darkest
    missing = 24 * 12 * (1 - most) ** 2 / 2  # of a ramp from 0 to 1: the triangle above what is held
    assert layer.coverage.left_over_mm2 == pytest.approx(missing, rel=0.1)
    assert "of what the tones want bared stays" in layer_headline(plan.job, layer).words or (
        "in the darkest tones" in layer_headline(plan.job, layer).words
    )


def test_coverage_of_tones_is_what_a_raster_of_all_spans_gives() -> None:
    plan = prepare(job_of(ramp_file(), fit_tones=True))
    layer = fill_of(plan)
    assert layer.rows is not None and layer.coverage is not None and layer.screen is not None
    rows, step = layer.rows, 0.01
    from core.burning.beam import clearing_line

    line = clearing_line(layer.layer.recipe, plan.job.machine, plan.job.stock)
    x = np.arange(rows.x0_mm.min() - 0.2, rows.x1_mm.max() + 0.2, step)
    y = np.arange(rows.row_y_mm[40] - rows.pitch_mm / 2, rows.row_y_mm[48] - rows.pitch_mm / 2, step)
    together = np.zeros((len(y), len(x)))
    for row in range(36, 53):
        across = across_share(y - rows.row_y_mm[row], spot_mm=line.spot_mm)[:, None]
        part = slice(rows.row_starts[row], rows.row_starts[row + 1])
        for x0, x1 in zip(rows.x0_mm[part], rows.x1_mm[part], strict=True):
            together += across * span_share(x, x0_mm=x0, x1_mm=x1, spot_mm=line.spot_mm)[None, :]
    bared = float((together * line.peak_over_clearing >= 1).sum()) * step * step
    wanted = layer.screen.wanted_mm2 * (y[-1] - y[0] + step) / 12.0
    # all hits added, which is what spill tells: every strip of this picture is like every other
    assert layer.coverage.spill_mm2 == pytest.approx((bared - wanted) * 12.0 / (y[-1] - y[0] + step), rel=0.08)


def test_a_picture_beside_a_solid_shape_lies_on_the_same_rows() -> None:
    body = '<image href="IMAGE" x="2" y="3" width="24" height="12"/><rect x="30.013" y="1.03" width="9" height="9"/>'
    both = fill_of(prepare(job_of(svg_of(body), lpi=600, fit_tones=True)))
    alone = fill_of(prepare(job_of(svg_of(body.split("/>")[1] + "/>"), lpi=600)))
    assert both.rows is not None and alone.rows is not None and both.screen is not None
    assert both.area_mm2 == pytest.approx(81 + both.screen.wanted_mm2, rel=1e-6)
    whole = both.rows.x1_mm - both.rows.x0_mm > 8.99
    solid_rows = np.unique(both.rows.row_index[whole])
    assert len(solid_rows) == pytest.approx(9 / both.rows.pitch_mm, abs=1)
    assert both.rows.length_mm > alone.rows.length_mm
    assert both.verdict is not None and both.verdict.verdict == "clean"


def test_what_lies_on_a_picture_covers_it_and_what_lies_under_it_is_covered() -> None:
    image = '<image href="IMAGE" x="0" y="0" width="24" height="12"/>'
    plain = fill_of(prepare(job_of(svg_of(image), fit_tones=True)))
    above = fill_of(prepare(job_of(svg_of(image + '<rect x="0" y="0" width="6" height="12"/>'), fit_tones=True)))
    under = fill_of(prepare(job_of(svg_of('<rect x="0" y="0" width="24" height="12"/>' + image), fit_tones=True)))
    assert plain.rows is not None and above.rows is not None and under.rows is not None
    assert plain.screen is not None and above.screen is not None
    assert under.rows.length_mm == pytest.approx(plain.rows.length_mm, rel=1e-6)
    # the lightest quarter is solid now, and nothing of the picture is left there
    assert above.outlines.area == pytest.approx(72.0, rel=1e-6)
    lightest = plain.screen.wanted_mm2 / 16
    assert above.area_mm2 == pytest.approx(72.0 + plain.screen.wanted_mm2 - lightest, rel=0.01)


def test_two_pictures_and_turned_copies_are_screened_each_at_its_place() -> None:
    body = "".join(f'<image href="IMAGE" x="0" y="{y}" width="24" height="12"/>' for y in (0, 14.03))
    two = fill_of(prepare(job_of(svg_of(body), fit_tones=True)))
    one = fill_of(prepare(job_of(ramp_file(), fit_tones=True)))
    assert two.screen is not None and one.screen is not None and two.rows is not None
    assert len(two.screen.screens) == 2
    assert two.screen.wanted_mm2 == pytest.approx(2 * one.screen.wanted_mm2, rel=1e-3)
    job = replace(job_of(ramp_file(), fit_tones=True), repeats=(Repeat(x_mm=40, y_mm=0, rotation_deg=90),))
    plan = prepare(job)
    copied = fill_of(plan)
    assert copied.screen is not None and copied.rows is not None and copied.coverage is not None
    assert copied.screen.wanted_mm2 == pytest.approx(2 * one.screen.wanted_mm2, rel=1e-3)
    turned = copied.screen.parts[1]
    x0, y0, x1, y1 = turned.region.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((12.0, 24.0), abs=1e-6)
    assert copied.coverage.left_over_pct < 3.0
    assert exported(plan, ".svg").read_back is not None


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
@pytest.mark.parametrize("angle", ["0", "90", "37"])
def test_files_hold_every_band_and_come_as_large_as_was_told(suffix: str, angle: str) -> None:
    lpi = 260 if suffix == ".svg" else 160  # DXF takes longer to read back
    job = with_setting(job_of(ramp_file(), lpi=lpi, fit_tones=True), "fill", "scan_angle_deg", angle)
    plan = prepare(job)
    layer = fill_of(plan)
    assert layer.screen is not None
    made = exported(plan, suffix)
    assert made.read_back is not None and made.read_back.lines == len(layer.screen.spans)
    empty = 9_000 if suffix == ".svg" else 25_000  # settings, tables, header
    told = (svg_bytes if suffix == ".svg" else dxf_bytes)(layer.screen)
    assert told == pytest.approx(len(made.data) - empty, rel=0.1)


def test_run_time_and_size_are_told_before_and_after() -> None:
    plan = prepare(job_of(ramp_file(), fit_tones=True))
    layer = fill_of(plan)
    costs = screen_costs(plan.job, layer)
    assert costs is not None and layer.screen is not None
    assert costs.after == layer.time_range
    solid = fill_of(prepare(job_of(svg_of('<rect width="24" height="12"/>'))))
    assert costs.before.best_s == pytest.approx(solid.time_range.best_s, rel=0.01)
    (told,) = [finding.message for finding in plan.findings if finding.code == "picture-cost"]
    assert costs.before_words in told and costs.after_words in told and f"{len(layer.screen.spans):,} spans" in told


def test_advice_counts_what_is_burned_of_a_picture_and_not_its_box() -> None:
    """Of a picture whose tones fill a fifth of it, in one corner, times are those of its rows, at other pitches too."""
    corner = np.full((60, 120), 255, np.uint8)
    corner[:30, :48] = 90
    for source in (
        ArtworkSource(name="corner.png", data=file_bytes(Image.fromarray(corner), dpi=(127, 127))),
        svg_of('<rect x="40" y="20" width="6" height="9"/><image width="24" height="12" href="IMAGE"/>'),
    ):
        plan = prepare(replace(job_of(source, lpi=600, fit_tones=True), wanted_chance=0.3))
        layer = fill_of(plan)
        advice = advise_layer(plan, layer)
        for one in (advice.pitch, advice.fastest):
            assert one.time_s + one.time_saved_s == pytest.approx(layer.time_range.best_s, rel=0.02)
        assert advice.pitch.recipe is not None
        taken = prepare(with_setting(plan.job, "fill", "lines_per_inch", f"{advice.pitch.recipe.lines_per_inch:g}"))
        assert advice.pitch.time_s == pytest.approx(fill_of(taken).time_range.best_s, rel=0.02)
        assert advice.angle.time_s + advice.angle.time_saved_s == pytest.approx(layer.time_range.best_s, rel=0.02)


@pytest.mark.parametrize(("deepest", "colour", "name"), [(0, "#000000", "black"), (70, "#464646", "dark grey")])
def test_the_paint_suggested_for_a_picture_looks_like_its_deepest_tones(deepest: int, colour: str, name: str) -> None:
    greys = np.linspace(255, deepest, 120).round().astype(np.uint8)
    greys[100:] = deepest
    picture = Image.fromarray(greys[None, :].repeat(60, axis=0))
    job = job_of(ArtworkSource(name="face.png", data=file_bytes(picture, dpi=(127, 127))), fit_tones=True)
    assert suggested_paints(prepare(job)) == ()
    painted = replace(job, reading=replace(job.reading, picture=replace(job.reading.picture, bared_is="paint")))
    (paint,) = suggested_paints(prepare(painted))
    assert (paint.colour, paint.name) == (colour, name)


def test_writing_a_screen_tells_how_far_it_is_and_can_be_stopped() -> None:
    plan = prepare(job_of(ramp_file(254), fit_tones=True))
    told: list[tuple[float, str]] = []
    exported(plan, ".svg", progress=lambda share, doing: told.append((share, doing)))
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert {"writing outlines", "reading it back", "holding it against the plan"} <= {doing for _, doing in told}

    def stop(share: float, doing: str) -> None:
        if doing == "holding it against the plan":
            raise Cancelled

    for suffix in (".svg", ".dxf"):
        with pytest.raises(Cancelled):
            exported(plan, suffix, progress=stop)


def test_a_dxf_that_nothing_opens_is_refused_with_a_ruling_that_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = prepare(job_of(ramp_file(), fit_tones=True))
    layer = fill_of(plan)
    assert layer.screen is not None
    limit = 0.6 * dxf_bytes(layer.screen)
    monkeypatch.setattr("core.output.export.MOST_DXF_BYTES", limit)
    with pytest.raises(JobError, match=r"would make a DXF of .* MB") as refused:
        exported(plan, ".dxf")
    ruling = float(re.search(r"Screen it at (\d+) an inch", refused.value.hint or "")[1])  # type: ignore[index]
    assert 20 < ruling < 80
    coarser = prepare(job_of(ramp_file(), fit_tones=True, lines_per_inch=ruling))
    assert len(exported(coarser, ".dxf").data) - 25_000 < limit


def test_screens_of_one_tone_patch_are_those_of_a_lattice() -> None:
    data = io.BytesIO()
    patch = Image.new("L", (40, 40), 128)
    patch.putpixel((0, 0), 0)  # a picture of one tone and nothing else is refused
    patch.save(data, "PNG", dpi=(127, 127))
    plan = prepare(job_of(ArtworkSource(name="grey.png", data=data.getvalue()), fit_tones=True))
    layer = fill_of(plan)
    assert layer.coverage is not None and layer.screen is not None
    assert layer.coverage.left_over_mm2 < 0.03 * layer.screen.wanted_mm2
