"""An order in figures, ``pieces.json``: rows with their parts, places and findings; sheets with time and cost."""

from collections.abc import Mapping, Sequence
from typing import Any

from core.job.costs.pricing import price
from core.job.report import time_data
from core.order.order import PartPlace
from core.order.parts import OrderedPart
from core.order.row_findings import RowFinding
from core.order.working_out import WorkedOrder, WorkedSheet
from core.output.orders.reckoning import Reckoned, Taken


def order_data(
    worked: WorkedOrder, taken: Reckoned, *, files: Mapping[str, Sequence[str]] | None = None
) -> dict[str, Any]:
    """All of it, ready for JSON. taken: what it takes; files: names by sheet."""
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
            _sheet(sheet, (files or {}).get(sheet.name, ()), one)
            for sheet, one in zip(worked.sheets, taken.sheets, strict=True)
        ],
        "all": _taken(taken.whole),
        "findings": [finding_data(one) for one in worked.findings if one.row is None],
    }  # fmt: skip
    cost = taken.whole.cost
    data["cost"] = {"total": cost.total, "unpriced": list(cost.unpriced)}
    if cost.total:
        priced = price(cost, cost.copies)
        data["cost"] |= {"each": priced.each, "net": priced.net, "tax": priced.tax, "gross": priced.gross}
    return data


def _taken(one: Taken) -> dict[str, Any]:
    """Coverage, run time, paint and cost of a sheet, or of all."""
    return {
        **time_data(one.time),
        "fill_mm2": one.fill_mm2,
        "left_over_mm2": one.left_over_mm2,
        "spill_mm2": one.spill_mm2,
        "paint": [
            {"name": amount.paint, "kind": amount.kind, "area_mm2": amount.area_mm2, "coats": amount.coats,
             "volume_ml": amount.volume_ml, "to_buy": amount.to_buy}
            for amount in one.paints
        ],
        "cost": one.cost.total,
        "not_reckoned": list(one.cost.unpriced),
    }  # fmt: skip


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


def _sheet(sheet: WorkedSheet, files: Sequence[str], taken: Taken) -> dict[str, Any]:
    return {
        "name": sheet.name,
        "piece": sheet.laid.label or None,
        "width_mm": sheet.job.sheet.width_mm,
        "height_mm": sheet.job.sheet.height_mm,
        "parts": [place.part for place in sheet.laid.places],
        **_taken(taken),
        "files": list(files),
        "findings": [
            {"code": one.code, "severity": one.severity, "message": one.message} for one in sheet.plan.findings
        ],
    }
