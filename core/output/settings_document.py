"""The settings document: one JSON document that travels inside every exported file.

Its JSON Schema is made in ``settings_schema``. Version 1. Bed files say so and name the turn that
is in them, so that reading one back gives the front again.
"""

import hashlib
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.machines import Machine
from core.errors import UnreadableError
from core.figures import all_figures_of, check_figure
from core.job.as_data import newer, to_data
from core.job.cautions import LAST_WORD
from core.job.job import Job
from core.job.kept_size import keeps_size
from core.job.plan import LayerPlan, Plan
from core.job.report import coverage_data, recipe_data
from core.job.row_lines import hands_over_rows
from core.output.settings_schema import schema
from core.sheet.faces import turned_corner
from core.sheet.placement import Sheet
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.version import VERSION as PROGRAM_VERSION

if TYPE_CHECKING:
    from jsonschema import ValidationError

VERSION = 1

Document = dict[str, Any]
WHAT = "The settings in this file"


def settings_document(plan: Plan) -> Document:
    """What a receiver needs to burn the plan as it was meant, and to read it back as the same job."""
    job = plan.job
    return {
        "tain_settings": VERSION,
        "program": f"Tain {PROGRAM_VERSION}",
        "face": "bed",
        "turn": job.turn,
        "turn_applied": True,
        "stop_corner": {"front": turned_corner(job.stop_corner, job.turn), "bed": job.stop_corner},
        "sheet": to_data(job.sheet) | {"stock": job.stock.name},
        "stock": to_data(job.stock),
        "machine": to_data(job.machine),
        "artwork": _artwork(job, plan),
        **({"copies": 1 + len(job.repeats)} if job.repeats else {}),
        **_datum(plan),
        **({"stage": plan.stage} if plan.stage else {}),
        "layers": [_layer(layer, order, job) for order, layer in enumerate(burned_layers(plan), start=1)],
        "time_s": plan.time_s,
        "cautions": [
            {"code": caution.code, "message": caution.message, "ticked": caution.code in job.cautions_ticked}
            for caution in plan.cautions
        ],
        "last_word": LAST_WORD,
    }


def burned_layers(plan: Plan) -> tuple[LayerPlan, ...]:
    """The layers that a machine gets, in burn order: the datum, fills, scores, cuts; no guides, none that are empty."""
    order = {"fill": 0, "score": 1, "cut": 2}
    layers = [p for p in plan.layers if p.layer.purpose in order and (p.paths or not p.region.is_empty)]
    return (*plan.datum_layers, *sorted(layers, key=lambda p: order[p.layer.purpose]))


def _datum(plan: Plan) -> Document:
    """What the file is laid by, and where; nothing where that is the part's edge, which needs no more."""
    laid = plan.datum
    if laid is None or laid.kind == "part edge":
        return {}
    return {"datum": to_data(replace(laid.datum, places=laid.places))}


def check_document(document: object) -> Document:
    """The document, checked against the schema. Raises UnreadableError, also for one from a newer version."""
    found = document.get("tain_settings") if isinstance(document, dict) else None
    if isinstance(found, int) and found > VERSION:
        raise UnreadableError(
            f"The settings in this file are version {found}; this Tain reads up to {VERSION}.",
            hint="Open it with a newer Tain.",
        )
    import jsonschema  # half of the time that this module takes to import; the first picture needs none of it

    try:
        _validator().validate(document)
    except jsonschema.ValidationError as error:
        raise _damaged(document, error) from None
    assert isinstance(document, dict)
    return document


def _damaged(document: Any, error: "ValidationError") -> UnreadableError:
    """What is wrong with a document, as a job file with the same fault would be told."""
    path = list(error.absolute_path)
    if error.validator == "additionalProperties":
        known = error.schema.get("properties", {}) if isinstance(error.schema, dict) else {}
        found = error.instance if isinstance(error.instance, dict) else {}
        return newer(WHAT, set(found) - set(known))
    kind = next((_KINDS[part] for part in reversed(path) if part in _KINDS), None)
    for figure in all_figures_of(kind) if kind is not None else ():
        if path[-1] == figure.name:
            try:
                check_figure(figure, error.instance, of=_owner(document, path))
            except UnreadableError as refused:
                return UnreadableError(f"{WHAT}: {refused.message}", hint=refused.hint)
    where = "/".join(str(part) for part in path) or "the top"
    return UnreadableError(f"{WHAT} are damaged at {where}.", hint="Export it again from its job file.")


_KINDS: dict[Any, type[Any]] = {
    "recipe": Recipe, "fill": Recipe, "score": Recipe, "cut": Recipe, "sheet": Sheet, "stock": Stock,
    "machine": Machine,
}  # fmt: skip


def _owner(document: Any, path: list[Any]) -> str:
    """What a damaged figure belongs to, by the name that stands nearest to it."""
    names, at = [], document
    for part in path:
        names += [at["name"]] if isinstance(at, dict) and isinstance(at.get("name"), str) else []
        at = at[part]
    if path[-2:-1] and path[-2] in ("fill", "score", "cut"):
        return f"the {path[-2]} recipe of {names[-1]}" if names else f"the {path[-2]} recipe"
    return names[-1] if names else f"the {path[0]}"


@cache
def _validator() -> Any:
    """Rows are lists where a document was read and tuples where it is about to be written."""
    import jsonschema

    usual = jsonschema.Draft202012Validator
    rows = usual.TYPE_CHECKER.redefine("array", lambda _, value: isinstance(value, (list, tuple)))
    return jsonschema.validators.extend(usual, type_checker=rows)(schema())  # type: ignore[no-untyped-call]


def _artwork(job: Job, plan: Plan) -> Document:
    if job.source is None:
        return {"name": "", "sha256": "", "units_from": plan.drawing.units_from}
    digest = hashlib.sha256(job.source.data).hexdigest()
    return {"name": job.source.name, "sha256": digest, "units_from": plan.drawing.units_from}


def _rings(region: BaseGeometry) -> list[list[list[list[float]]]]:
    """Outlines of a region's polygons, front frame: the outer one first, then its holes."""
    return [
        [shapely.get_coordinates(ring)[:-1].round(6).tolist() for ring in (part.exterior, *part.interiors)]
        for part in shapely.get_parts(region).tolist()
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]


def _layer(planned: LayerPlan, order: int, job: Job) -> Document:
    layer = planned.layer
    kerf = {"lines_moved_for_kerf_mm": job.stock.kerf_mm} if keeps_size(layer) and job.stock.kerf_mm else {}
    return {
        "id": layer.id,
        "name": layer.name,
        "purpose": layer.purpose,
        "colour": layer.colour,
        "order": order,
        **kerf,
        **({"drawn_outlines_mm": _drawn_rings(planned)} if _is_burned_otherwise(planned) else {}),
        "recipe": recipe_data(layer.recipe) | {"origin": to_data(layer.recipe.origin)},
        "area_mm2": planned.area_mm2,
        "length_mm": planned.length_mm,
        "time_s": planned.time_s,
        "coverage": coverage_data(planned),
    }


def _is_burned_otherwise(planned: LayerPlan) -> bool:
    """Whether what stands in the file is not what was drawn: moved outlines, or rows."""
    return (planned.burned is not None and planned.screen is None) or hands_over_rows(planned)


def _drawn_rings(planned: LayerPlan) -> list[list[list[list[float]]]]:
    """What was drawn: of a screen its bands, as the picture itself is not in the file."""
    if planned.screen is None:
        return _rings(planned.region)
    bands: list[list[list[float]]] = planned.bands_mm.round(6).tolist()
    return [*([band] for band in bands), *_rings(planned.outlines)]
