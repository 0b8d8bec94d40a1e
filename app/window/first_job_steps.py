"""The steps of the first job, bound to the controls of a window."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from app.session.session import Session
from app.stages.page import Page
from app.stages.stage import Stage
from app.window.first_job import Step
from app.window.stage_rail import StageRail
from app.window.welcome import Welcome
from core.job.job import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """What the steps point at. stage: the stage at hand."""

    session: Session
    stage: Callable[[], Stage]
    welcome: Welcome
    faces: QWidget
    tools: QWidget
    rail: StageRail
    pages: Mapping[Stage, Page]


def first_job_steps(window: Controls) -> tuple[Step, ...]:
    """From the empty window to exported files."""
    session = window.session

    def go_on(stage: Stage, title: str, text: str) -> Step:
        order = list(Stage)
        return Step(
            title=title,
            text=text,
            target=lambda: window.pages[stage].main_action if window.stage() is stage else window.rail.button(stage),
            done=lambda: order.index(window.stage()) > order.index(stage),
        )

    def page() -> QWidget:
        return window.pages[window.stage()]

    return (
        Step(
            title="Open something",
            text="Press one of the samples, or drop a file of your own on the window.",
            target=lambda: window.welcome.samples if window.welcome.on else None,
            done=lambda: session.plan is not None,
        ),
        Step(
            title="One sheet, seen from both sides",
            text="The front is what your customer looks at. The bed shows the same sheet turned over, as it lies under "
            "the laser. Tain turns the artwork over for you, once: never mirror it yourself.",
            target=lambda: window.faces,
        ),
        Step(
            title="What the front shows",
            text="As the file was sent, as the finished piece will look, or what is burned. Try all three.",
            target=lambda: window.tools,
        ),
        go_on(
            Stage.ARTWORK,
            "Is it what the customer meant?",
            "Check the size and look at what was found. Then press the button at the foot of the page.",
        ),
        go_on(
            Stage.LAYERS,
            "What is each shape for?",
            "Fill clears the coat, cut goes through, score draws a line, a guide is never burned. Each says why it was "
            "chosen; change what is wrong, then go on.",
        ),
        go_on(
            Stage.SHEET,
            "What is it burned on?",
            "Say what sheet you have and how large it is. Drag the artwork where it should lie, then go on.",
        ),
        go_on(
            Stage.BURN,
            "How fast, how strong, how close?",
            "These figures are common practice: prove them on a scrap before a real piece. The verdict says whether "
            "the coat comes off clean.",
        ),
        go_on(
            Stage.COVERAGE,
            "Will it come off clean?",
            "Coat that would stay, and coat that would go where it should not, is measured here, worst places first.",
        ),
        go_on(
            Stage.PAINT,
            "Which paint goes where?",
            "The order of colours behind the bared areas, and their masks. Go on if nothing is painted.",
        ),
        Step(
            title="Before anything is burned",
            text="Read every caution and tick it once you have seen to it. The machine's manual and your local codes "
            "come first.",
            target=page,
            done=lambda: window.stage() is Stage.HAND_OVER and all_ticked(session.job),
        ),
        Step(
            title="Hand it over",
            text="Press the button at the foot to export. The file is turned for the bed already; open it in your "
            "machine's own software and do not turn it again.",
            target=lambda: window.pages[Stage.HAND_OVER].main_action,
            done=lambda: session.handed_over,
        ),
    )


def all_ticked(job: Job) -> bool:
    """Whether every caution is ticked that can be at a desk."""
    from core.job.cautions import missing_ticks

    return not missing_ticks(job)
