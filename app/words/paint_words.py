"""Words about painting that several places say."""

from app.words.wording import count_text
from core.finishing.steps import PaintStep


def mask_words(step: PaintStep) -> str:
    """What a step's mask is, in a few words."""
    if step.made_by == "none":
        return "no mask, nothing waits any more"
    if step.made_by == "laser":
        return "the sheet's own film is the mask"
    figures = step.figures
    openings = count_text(figures.openings, "opening", "openings")
    return f"mask with {openings}, {figures.cut_length_mm:.0f} mm to cut, covers {', '.join(step.kept_off)}"
