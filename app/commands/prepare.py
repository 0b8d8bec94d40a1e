"""``tain prepare``: the main job without a window."""

import argparse
import json
import os
from dataclasses import replace
from pathlib import Path

from app.commands.files_in import add_settings_argument, begun_job, warn_of_book
from app.commands.outputs import add_outputs
from app.commands.pictures import add_picture_arguments, picture_from
from app.commands.purposes import add_purpose_arguments, refuse_undecided, rules_from, settled, with_rules
from app.words.progress_words import told_progress
from core.artwork.reading import check_page_asked
from core.atomic import check_writable, write_atomically
from core.errors import JobError, TainError, UnreadableError
from core.figures import figures_for
from core.findings import Finding
from core.job.checks import check_job
from core.job.decisions import with_keep_size
from core.job.job import Job, standard_layers
from core.job.plan import Plan
from core.job.prepare import burned_bounds_mm, prepare
from core.job.report import report_data
from core.job.setting import WHOLE, figure_lines, with_setting, with_settings
from core.job.timing import range_text
from core.output.export import Exported, check_suffix, exported, problems
from core.output.proof import read_back_data
from core.sheet.placement import Placement, Sheet
from core.sheet.recipes import Recipe
from core.shop_book.beginning import offered_profiles
from core.shop_book.speaking_up import with_cautions_spoken
from core.units import MM_PER_UNIT, parse_length_mm, parse_sheet_size_mm

SUMMARY = "Artwork in; layers, coverage, run time; SVG, DXF or a job file out."
EXAMPLES = (
    "tain prepare sign.svg -o sign.tain -o sign-bed.svg --sheet 300x200x3",
    "tain prepare sign.svg -o bed.dxf --stock 'mirrored acrylic 2 mm' --lpi 600 --passes 2 --report report.json",
    "tain prepare sign.svg -o bed.svg --put 'layer:Border=score' --put 'stroke:#0000ff=cut' --undecided leave-out",
    "tain prepare logo.png -o logo-bed.svg --width-mm 80 --trace 50%",
    "tain prepare sign.tain -o bed.svg --set cut.power_pct=80 --set 'Score 2.speed_mm_s=150' --force",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain prepare``."""
    parser.epilog = _figures_help()
    parser.add_argument("artwork", type=Path, metavar="ART", help="SVG, DXF, PDF, a picture or a job (.tain)")
    add_outputs(parser)
    add_job_arguments(parser)
    parser.add_argument(
        "--place", metavar="center|X,Y", help="centre what is burned, or put the page's top left there (mm)"
    )
    parser.add_argument("--report", type=Path, metavar="REPORT.json", help="write the report there")
    parser.add_argument("--json", action="store_true", help="print the report as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def add_job_arguments(parser: argparse.ArgumentParser) -> None:
    """What may be said of a job: sheet, stock, machine, turn, figures, purposes, how the artwork is read."""
    parser.add_argument("--sheet", metavar="300x200x3", help="width x height x thickness, mm unless said otherwise")
    parser.add_argument("--stock", metavar="NAME", help="the sheet's kind")
    parser.add_argument("--machine", metavar="NAME", help="the machine")
    parser.add_argument("--turn", choices=("sideways", "endways"), help="how the sheet is turned over")
    for flag, name, words in fill_options():
        parser.add_argument(flag, dest=name, metavar="N", help=f"{words} of fills".replace("%", "%%"))
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="LAYER.FIGURE=VALUE",
        help="any figure of a purpose, of a layer by its name, of sheet, stock or machine; may be given several times",
    )
    add_purpose_arguments(parser)
    add_settings_argument(parser)
    parser.add_argument(
        "--keep-size",
        action="store_true",
        help="move cut lines by half the stock's kerf, so that parts keep their size",
    )
    parser.add_argument(
        "--units", choices=tuple(MM_PER_UNIT), help="what one unit of the artwork is, where it does not say"
    )
    parser.add_argument("--reversed", action="store_true", help="the artwork arrives drawn as seen from the back")
    parser.add_argument("--page", type=int, metavar="N", help="page of a PDF")
    add_picture_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Prepare and write. Returns the exit code; raises TainError for the caller to say."""
    if arguments.report and arguments.report.suffix.lower() != ".json":
        raise UnreadableError(f"{arguments.report} is no name for a report.", hint="End it in .json.")
    targets: list[Path] = [*arguments.output, *([arguments.report] if arguments.report else [])]
    for path in arguments.output:
        check_suffix(path)
    _check_targets(targets, arguments.artwork, force=arguments.force)
    job = job_from_arguments(arguments)
    with told_progress() as progress:
        plan = prepare(job, progress=progress)
    if (decided := settled(plan, arguments)) is not None:
        plan = prepare(decided)
    if arguments.sheet is None and arguments.artwork.suffix.lower() != ".tain":
        plan = _on_a_sheet_that_fits(plan)
    plan = with_cautions_spoken(plan)
    stopping = problems(plan)
    # all bytes first: a fault in the second file must not leave the first one alone on disk
    held = bool(stopping or plan.questions)
    files = []
    for path in () if held else arguments.output:
        with told_progress() as progress:
            files.append((path, exported(plan, path.suffix.lower(), progress=progress)))
    proven = [made.read_back for _, made in files if made.read_back is not None]
    data = report_data(plan) | ({"read_back": read_back_data(proven)} if proven else {})
    report = json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)
    if arguments.report:
        write_atomically(arguments.report, report.encode(), overwrite=arguments.force)
    for path, made in files:
        write_atomically(path, made.data, overwrite=arguments.force)
    print(report if arguments.json else _summary(plan, files))
    if stopping:
        raise JobError(f"Nothing was written: {stopping[0].message}")
    refuse_undecided(plan)
    return 0


def job_from_arguments(arguments: argparse.Namespace) -> Job:
    """The job that the arguments describe. Raises UnreadableError."""
    job, problem = begun_job(arguments.artwork, arguments)
    return decided_job(job, arguments, problem)


def decided_job(job: Job, arguments: argparse.Namespace, problem: TainError | None = None) -> Job:
    """The job with all that the arguments say of it. problem: why the shop book could not be used, if so."""
    if arguments.machine or arguments.stock:
        machines, stocks, problem = offered_profiles()
    warn_of_book(problem)
    if arguments.machine:
        job = replace(job, machine=_named(arguments.machine, machines, "machine"))
    if arguments.stock:
        stock = _named(arguments.stock, stocks, "stock")
        sheet = replace(job.sheet, thickness_mm=stock.thickness_mm)
        job = replace(job, stock=stock, layers=standard_layers(stock), sheet=sheet)
    if arguments.sheet:
        width_mm, height_mm, thickness_mm = parse_sheet_size_mm(arguments.sheet)
        job = replace(
            job,
            sheet=Sheet(width_mm=width_mm, height_mm=height_mm, thickness_mm=thickness_mm or job.sheet.thickness_mm),
        )
    if arguments.turn:
        job = replace(job, turn=arguments.turn)
    if getattr(arguments, "place", None):
        job = replace(job, placement=_placement(arguments.place, job.placement.rotation_deg))
    reading = job.reading
    if arguments.units:
        reading = replace(reading, units=arguments.units)
    if arguments.page is not None:
        if job.source is not None:
            check_page_asked(job.source, arguments.page)
        reading = replace(reading, page=arguments.page)
    if arguments.reversed:
        reading = replace(reading, arrives_reversed=True)
    reading = replace(reading, picture=picture_from(arguments, reading.picture))
    job = replace(job, reading=reading)
    for _, name, _ in fill_options():
        if (text := getattr(arguments, name)) is not None:
            job = with_setting(job, "fill", name, text)
    job = with_settings(job, arguments.set)
    if arguments.keep_size:
        for layer in job.layers:
            job = with_keep_size(job, layer.id, layer.purpose == "cut")
    job = with_rules(job, rules_from(arguments))
    check_job(job)
    return job


def fill_options() -> list[tuple[str, str, str]]:
    """(option, figure, words) of every figure of a fill's recipe; the figure's other form has its unit's name."""
    options = []
    for figure in figures_for(Recipe, "fill"):
        options.append((f"--{figure.export_name}", figure.name, f"{figure.words.lower()}, {figure.limits_words()},"))
        if (other := figure.other_form) is not None:
            options.append((f"--{other.unit.lower()}", other.name, other.words.lower()))
    return options


def _figures_help() -> str:
    lines = ["figures for --set fill.FIGURE=VALUE (score and cut have those that are not about scan lines):"]
    lines += [f"  {line}" for line in figure_lines(Recipe)]
    for target, kind in WHOLE.items():
        lines += ["", f"figures for --set {target}.FIGURE=VALUE:", *(f"  {line}" for line in figure_lines(kind))]
    return "\n".join(lines)


def _check_targets(targets: list[Path], artwork: Path, *, force: bool) -> None:
    """Before any long work: nothing is overwritten unasked, and never the artwork itself."""
    for path in targets:
        if artwork.exists() and path.exists() and path.samefile(artwork) and path.suffix != ".tain":
            raise UnreadableError(f"{path} is the artwork itself.", hint="Write to another name.")
        check_writable(path, overwrite=force)
    if len({Path(os.path.realpath(path)) for path in targets}) < len(targets):
        raise UnreadableError("The same output is named twice.")


def _named(name: str, choices: tuple, what: str):  # type: ignore[no-untyped-def, type-arg]  # machines or stocks
    """The one whose name is, or alone contains, ``name``."""
    folded = name.casefold().strip()
    exact = [item for item in choices if item.name.casefold() == folded]
    found = exact or [item for item in choices if folded in item.name.casefold()]
    if len(found) != 1:
        names = "; ".join(item.name for item in (found or choices))
        problem = "more than one" if found else "no"
        raise UnreadableError(f"There is {problem} {what} “{name}”.", hint=f"Name one of: {names}.")
    return found[0]


def _placement(text: str, rotation_deg: float) -> Placement:
    if text.strip().lower() in ("center", "centre"):
        return Placement(centred=True, rotation_deg=rotation_deg)
    parts = text.split(",")
    if len(parts) != 2:
        raise UnreadableError(f"“{text}” is no place.", hint="Write center, or X,Y like 20,15.")
    x_mm, y_mm = (parse_length_mm(part) for part in parts)
    return Placement(x_mm=x_mm, y_mm=y_mm, rotation_deg=rotation_deg, centred=False)


def _on_a_sheet_that_fits(plan: Plan) -> Plan:
    """Nobody named a sheet: when the starting one is too small, take one with 10 mm to spare, and say so."""
    if not any(finding.code == "off-sheet" for finding in plan.findings):
        return plan
    x0, y0, x1, y1 = burned_bounds_mm(plan)
    if plan.job.placement.centred:
        width_mm, height_mm = x1 - x0 + 20, y1 - y0 + 20
    elif min(x0, y0) >= 0:
        # the place was asked for: the sheet grows away from its top left corner, the artwork stays
        width_mm, height_mm = max(x1 + 10, plan.job.sheet.width_mm), max(y1 + 10, plan.job.sheet.height_mm)
    else:
        return plan
    sheet = replace(plan.job.sheet, width_mm=float(round(width_mm)), height_mm=float(round(height_mm)))
    grown = prepare(replace(plan.job, sheet=sheet))
    message = (
        f"No sheet was named; one of {sheet.width_mm:g} x {sheet.height_mm:g} mm was assumed so that the artwork fits."
    )
    return replace(grown, findings=(*grown.findings, Finding(code="sheet-assumed", message=message, severity="note")))


def _summary(plan: Plan, files: list[tuple[Path, Exported]]) -> str:
    """The report for people."""
    job = plan.job
    sheet = job.sheet
    lines = [
        f"{job.source.name if job.source else 'job'}: size from {plan.drawing.units_from}; on {sheet.width_mm:g} x "
        f"{sheet.height_mm:g} x {sheet.thickness_mm:g} mm {job.stock.name}, turned {job.turn}, for {job.machine.name}"
    ]
    for layer in plan.layers:
        if not layer.shape_ids:
            continue
        extent = f"{layer.area_mm2:.1f} mm²" if layer.layer.purpose == "fill" else f"{layer.length_mm:.1f} mm"
        lines.append(
            f"  {layer.layer.name:<10} {len(layer.shape_ids):>4} {'shape ' if len(layer.shape_ids) == 1 else 'shapes'}"
            f"  {extent:>14}  {range_text(layer.time_range)}"
        )
        if layer.coverage is not None and layer.verdict is not None:
            share = 100 * layer.coverage.left_over_mm2 / layer.area_mm2 if layer.area_mm2 else 0.0
            lines.append(f"    {layer.verdict.words}")
            left_over, spill = layer.coverage.left_over_mm2, layer.coverage.spill_mm2
            told = f"spill {spill:.2f} mm²" if layer.screen is None else f"up to {spill:.2f} mm² more if hits add"
            of = "" if layer.screen is None else " of what the tones want bared"
            lines.append(f"    left over {left_over:.2f} mm² ({share:.2f} %{of}), {told}")
    lines.append(f"  {plan.account.sentence}")
    lines.append(f"  run time {range_text(plan.time_range)}")
    lines += [f"{finding.severity}: {finding.message}" for finding in plan.findings]
    lines.append("Before the sheet is burned:")
    lines += [f"  [ ] {caution.message}" for caution in plan.cautions]
    for path, made in files:
        lines.append(f"wrote {path}" + (f"; {made.read_back.words}" if made.read_back else ""))
    return "\n".join(lines)
