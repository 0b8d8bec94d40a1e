"""What is wrong with a drawing, with a place for each finding and a repair where it can be mended safely."""

from core.artwork.checkup.area_checks import speck_findings
from core.artwork.checkup.line_checks import end_findings, outline_findings, overlap_findings, thin_lines
from core.artwork.checkup.page_checks import off_page_findings, reversed_findings, scale_findings
from core.artwork.drawing import Drawing, Finding
from core.progress import Progress, silent


def check_drawing(
    drawing: Drawing, *, cleared_width_mm: float, kerf_mm: float, progress: Progress = silent
) -> tuple[Finding, ...]:
    """All findings about the drawing, in its frame.

    cleared_width_mm: what one scan line bares (0: not known, specks are not looked for). kerf_mm: width of a cut.
    Codes: scale-looks-wrong, looks-reversed, off-page, open-ends, loose-lines, doubled-lines, overlapping-lines,
    shared-lines, crosses-itself, hole-too-small, speck. ``repair`` names what ``repairs.repair`` takes.
    """
    findings = [*scale_findings(drawing), *reversed_findings(drawing), *off_page_findings(drawing)]
    if thin_lines(drawing):
        progress(0.2, "looking for open ends")
        findings += end_findings(drawing)
        progress(0.4, "looking for doubled lines")
        findings += overlap_findings(drawing)
        progress(0.6, "looking at outlines")
        findings += outline_findings(drawing, kerf_mm=kerf_mm)
    progress(0.8, "looking for specks")
    findings += speck_findings(drawing, cleared_width_mm=cleared_width_mm)
    return tuple(findings)
