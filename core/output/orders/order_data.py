"""An order in figures, ``pieces.json``: rows with their parts, places and findings; sheets with time and cost."""

from collections.abc import Mapping, Sequence
from typing import Any

from core.job.cost import Cost
from core.job.pricing import price
from core.job.report import time_data
from core.order.order import PartPlace
from core.order.parts import OrderedPart
from core.order.row_findings import RowFinding
from core.order.working_out import WorkedOrder, WorkedSheet


def order_data(
    worked: WorkedOrder,
    *,
    files: Mapping[str, Sequence[str]] | None = None,
    cost: Cost | None = None,
    sheet_costs: Sequence[Cost] = (),
) -> dict[str, Any]:
    """All of it, ready for JSON. files: names by sheet; cost: of the whole order, sheet_costs: of each sheet."""
    order = worked.order
    names = order.names
    data: dict[str, Any] = {
        "design": order.design.source.name if order.design.source else None,
        "list": None if names is None else {
            "name": names.name, "form": names.form.words, "columns": list(names.columns), "rows": len(names.rows),
        },
        "fields": [
            {"name": one.name, "column": one.column, "numbers": one.running.words if one.running else None,
             "fit": one.fit, "limit_pct": one.limit_pct}
            for one in order.fields
        ],
        "parts": len(worked.filled.parts),
        "rows": _rows(worked),
        "sheets": [
            _sheet(sheet, (files or {}).get(sheet.name, ()), sheet_costs[at] if sheet_costs else None)
            for at, sheet in enumerate(worked.sheets)
        ],
        "findings": [finding_data(one) for one in worked.findings if one.row is None],
    }  # fmt: skip
    if cost is not None:
        data["cost"] = {"total": cost.total, "unpriced": list(cost.unpriced)}
        if cost.total:
            priced = price(cost, cost.copies)
            data["cost"] |= {"each": priced.each, "net": priced.net, "tax": priced.tax, "gross": priced.gross}
    return data


def finding_data(one: RowFinding) -> dict[str, Any]:
    """A finding for JSON."""
    return {"code": one.code, "severity": one.severity, "message": one.message}


def _rows(worked: WorkedOrder) -> list[dict[str, Any]]:
    places = {place.part: (number, place) for number, sheet in enumerate(worked.sheets, start=1)
              for place in sheet.laid.places}  # fmt: skip
    by_row: dict[int, list[OrderedPart]] = {}
    for one in worked.filled.parts:
        by_row.setdefault(one.row, []).append(one)
    told: dict[int, list[RowFinding]] = {}
    for finding in worked.findings:
        if finding.row is not None:
            told.setdefault(finding.row, []).append(finding)
    rows = []
    for number in sorted(by_row.keys() | told.keys()):
        parts = by_row.get(number, [])
        rows.append(
            {
                "row": number or None,
                "text": dict(parts[0].values) if parts else {},
                "parts": [_part(worked, one, places.get(one.number)) for one in parts],
                "findings": [finding_data(one) for one in told.get(number, [])],
            }
        )
    return rows


def _part(worked: WorkedOrder, one: OrderedPart, place: tuple[int, PartPlace] | None) -> dict[str, Any]:
    width_mm, height_mm = worked.filled.size_mm(one.number)
    data: dict[str, Any] = {
        "number": one.number,
        "text": dict(one.values),
        "width_mm": round(width_mm, 3),
        "height_mm": round(height_mm, 3),
        "sheet": None,
        "place": None,
    }
    if place is not None:
        sheet, at = place
        data["sheet"] = sheet
        data["place"] = {"x_mm": at.x_mm, "y_mm": at.y_mm, "rotation_deg": at.rotation_deg}
    return data


def _sheet(sheet: WorkedSheet, files: Sequence[str], cost: Cost | None) -> dict[str, Any]:
    data: dict[str, Any] = {
        "name": sheet.name,
        "piece": sheet.laid.label or None,
        "width_mm": sheet.job.sheet.width_mm,
        "height_mm": sheet.job.sheet.height_mm,
        "parts": [place.part for place in sheet.laid.places],
        **time_data(sheet.plan.time_range),
        "left_over_mm2": sum(layer.coverage.left_over_mm2 for layer in sheet.plan.layers if layer.coverage is not None),
        "files": list(files),
        "findings": [
            {"code": one.code, "severity": one.severity, "message": one.message} for one in sheet.plan.findings
        ],
    }
    if cost is not None:
        data["cost"] = cost.total
    return data
