"""What a window asks only for certain files or after a fault: such files are made and opened."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PIL import Image

from app.dialogs.fault_report import FaultDialog
from app.dialogs.rules import KeepRuleDialog
from app.dialogs.trial import BondTrialDialog
from app.session.faults import Fault
from app.stages.stage import Stage
from app.widgets import messages
from app.window.main_window import MainWindow
from core.artwork.sorting.rules import PurposeRule
from core.errors import UnreadableError
from core.finishing.bonding import BondTrial
from core.job.decisions import with_recipe
from core.job.job import new_job
from core.job.prepare import prepare
from core.output.export import export
from core.output.opening import load_source
from tests.screenshots.readme import SAMPLES, open_sample

UNSIZED = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 240"><path d="M20 20H380V220H20Z" fill="none"'
    ' stroke="#c00"/><circle cx="200" cy="120" r="60"/></svg>'
)
FIELDS = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="0 0 80 40">'
    '<rect x="1" y="1" width="78" height="38" fill="none" stroke="#c00" stroke-width="0.1"/>'
    '<text x="8" y="24" font-family="DejaVu Sans" font-size="10">{name}</text></svg>'
)


def ask_all(window: MainWindow, folder: Path, settle: Callable[[], None]) -> None:
    """Have each of them come up; ``folder`` is where the files are made."""
    files = folder / "files"
    files.mkdir(exist_ok=True)
    for path in (_unsized(files), _picture(files), _forged(files), _broken(files)):
        window.session.mark_saved(window.session.order, Path("shown.tain"))
        window.files.open(path)
        settle()
    _list_of_parts(window, files, settle)
    _dialogs(window, files, settle)
    _messages(window, files, settle)


def _unsized(files: Path) -> Path:
    path = files / "without a size.svg"
    path.write_text(UNSIZED, "utf-8")
    return path


def _picture(files: Path) -> Path:
    path = files / "photo.png"
    Image.radial_gradient("L").save(path)
    return path


def _forged(files: Path) -> Path:
    path = files / "sent-bed.svg"
    job = new_job(load_source(SAMPLES / "house-number.svg"))
    layers = tuple(replace(one, recipe=replace(one.recipe, speed_mm_s=one.recipe.speed_mm_s / 4)) for one in job.layers)
    export(prepare(replace(job, layers=layers, machine=replace(job.machine, rated_power_w=37.0))), path, overwrite=True)
    return path


def _broken(files: Path) -> Path:
    path = files / "broken.svg"
    path.write_text("<svg", "utf-8")
    return path


def _list_of_parts(window: MainWindow, files: Path, settle: Callable[[], None]) -> None:
    path = files / "tag.svg"
    path.write_text(FIELDS, "utf-8")
    window.files.open(path)
    settle()
    window.go_to(Stage.SHEET)
    window.sheet_page.lay_list()
    settle()


def _dialogs(window: MainWindow, files: Path, settle: Callable[[], None]) -> None:
    rule = PurposeRule(sort="layer", value="outline", answer="cut")
    trial = BondTrial(joint="acrylic to acrylic", adhesive="solvent cement", verdict="test first")
    fault = Fault(report="report", report_file=files / "report.txt", rescue_file=files / "crest.tain")
    for dialog in (KeepRuleDialog(window, (rule,)), BondTrialDialog(window, trial), FaultDialog(window, fault)):
        messages.run(dialog)
        dialog.deleteLater()
    settle()


def _messages(window: MainWindow, files: Path, settle: Callable[[], None]) -> None:
    open_sample(window, "crest.svg")
    settle()
    layer = next(one for one in window.session.job.layers if one.purpose == "fill")
    slower = replace(layer.recipe, speed_mm_s=500.0)
    window.session.commit(with_recipe(window.session.job, layer.id, slower), "Speed")
    settle()
    window.files.once_settled(lambda: None)
    path = files / "crest.tain"
    path.write_text("there already", "utf-8")
    messages.may_replace(window, "Save", path)
    messages.tell_error(
        window,
        "The job was not saved",
        UnreadableError("The disk is full.", hint="Free some room, or choose another folder."),
    )
