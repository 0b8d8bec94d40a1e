"""A DXF file as a Drawing: y turned over, the extents' top left at the origin, everything in mm."""

from typing import Any

from core.artwork.drawing import Drawing, Finding, ReadOptions
from core.artwork.drawn_outlines import with_drawn_outlines
from core.artwork.dxf.blocks import placed_runs
from core.artwork.dxf.entities import EntityReader
from core.artwork.dxf.exported import as_job_layers, export_in
from core.artwork.dxf.kinds import LEFT_OUT, UNREADABLE
from core.artwork.dxf.layers import LayerTable
from core.artwork.dxf.loaded_once import loaded_once
from core.artwork.dxf.loading import AGAIN, Loaded
from core.artwork.dxf.plain import merged
from core.artwork.dxf.shapes import Laid, Page, laid_out
from core.artwork.dxf.sizes import UnitScale, unit_scale
from core.artwork.remarks import Remarks
from core.collecting import collector_at_rest
from core.errors import UnreadableError
from core.progress import Progress, part, silent


@collector_at_rest()
def read_dxf(data: bytes, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """The drawing in a DXF file, R12 to R2018, ASCII or binary.

    Loose lines, arcs and splines of one look are chained into outlines. A file that Tain exported comes back as the
    front of its sheet, shapes told by the job's layers. Raises UnreadableError when nothing usable is
    left, UnitsUnknownError when the file does not say its unit and none may be assumed.
    """
    loaded = loaded_once(data, part(progress, 0.0, 0.6))
    document = loaded.document
    export = export_in(document)
    scale = _EXPORT_SCALE if export else unit_scale(document, data, options)
    remarks = Remarks()
    entities = _entities(loaded, remarks)
    if not entities:
        raise _nothing("The DXF holds no entities.", loaded.findings)
    layers = LayerTable(document)
    placed = placed_runs(
        entities,
        document,
        EntityReader(document, remarks),
        layers,
        remarks,
        tolerance=options.tolerance_mm / scale.mm_per_unit,
        progress=part(progress, 0.6, 0.8),
    )
    page = Page(matrix=export.to_front, width_mm=export.width_mm, height_mm=export.height_mm) if export else None
    laid = laid_out(placed, layers, scale.mm_per_unit, remarks, page=page, progress=part(progress, 0.8, 1.0))
    findings = (*loaded.findings, *scale.findings, *_placed_findings(remarks, laid))
    if laid is None:
        raise _nothing("Nothing in the DXF can be used.", findings)
    return Drawing(
        width_mm=laid.width_mm,
        height_mm=laid.height_mm,
        units_from=scale.units_from,
        shapes=with_drawn_outlines(as_job_layers(laid.shapes, export), export.drawn) if export else laid.shapes,
        findings=findings,
        from_export=export is not None,
        missing=tuple(laid.missing(one, place) for one, place in remarks.missing(LEFT_OUT, UNREADABLE)),
    )


def design_page(document: Any, data: bytes, options: ReadOptions) -> Page:
    """Where the whole drawing lies on its page, for texts of it that are read alone. Raises as ``read_dxf`` does."""
    laid = _laid_alone(document, list(document.modelspace()), data, options, None)[0]
    if laid is None:
        raise _nothing("Nothing in the DXF can be used.", ())
    return Page(matrix=laid.to_page, width_mm=laid.width_mm, height_mm=laid.height_mm)


def read_alone(document: Any, entities: list[Any], data: bytes, options: ReadOptions, page: Page) -> Drawing:
    """Some entities of a document as a drawing on the whole drawing's page."""
    laid, findings = _laid_alone(document, entities, data, options, page)
    return Drawing(
        width_mm=page.width_mm,
        height_mm=page.height_mm,
        units_from="the design",
        shapes=laid.shapes if laid is not None else (),
        findings=findings,
    )


def _laid_alone(
    document: Any, entities: list[Any], data: bytes, options: ReadOptions, page: Page | None
) -> tuple[Laid | None, tuple[Finding, ...]]:
    mm_per_unit = unit_scale(document, data, options).mm_per_unit
    remarks, layers = Remarks(), LayerTable(document)
    reader = EntityReader(document, remarks)
    tolerance = options.tolerance_mm / mm_per_unit
    placed = placed_runs(entities, document, reader, layers, remarks, tolerance=tolerance, progress=silent)
    laid = laid_out(placed, layers, mm_per_unit, remarks, page=page, progress=silent)
    return laid, tuple(_placed_findings(remarks, laid))


_EXPORT_SCALE = UnitScale(mm_per_unit=1.0, units_from="an export of Tain, in mm")


def _on_paper(document: Any, name: str) -> list[Any]:
    """Entities of a paper layout; none of one that a damaged file names but does not hold."""
    try:
        return [entity for entity in document.layout(name) if entity.dxftype() != "VIEWPORT"]
    except KeyError:
        return []


def _entities(loaded: Loaded, remarks: Remarks) -> list[Any]:
    """The model space's entities; the paper space's only where the model is empty."""
    document = loaded.document
    model = list(document.modelspace())
    if loaded.plain:
        model = merged(loaded.plain, model)
    paper = [entity for name in document.layout_names() if name != "Model" for entity in _on_paper(document, name)]
    if paper and model:
        remarks.add(
            "dxf-paper-space", "{count} [entity|entities] on paper layouts [was|were] left out.", count=len(paper)
        )
    elif paper:
        remarks.add(
            "dxf-paper-read",
            "The model is empty; {count} [entity|entities] of the paper layouts [was|were] read.",
            count=len(paper),
        )
        return paper
    return model


def _placed_findings(remarks: Remarks, laid: Laid | None) -> list[Finding]:
    return [laid.finding(finding, place) if laid else finding for finding, place in remarks.findings()]


def _nothing(message: str, findings: tuple[Finding, ...]) -> UnreadableError:
    reasons = " ".join(finding.message for finding in findings if finding.code != "units-assumed")
    return UnreadableError(f"{message} {reasons}".strip(), hint=AGAIN)
