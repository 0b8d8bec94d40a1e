"""The settings document: one JSON document that travels inside every exported file.

Its JSON Schema is ``settings.schema.json`` beside this module. Version 1. Bed files say so and name the turn that
is in them, so that reading one back gives the front again.
"""

import hashlib
import json
from functools import cache
from importlib import resources
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import jsonschema

from core.errors import UnreadableError
from core.job.as_data import to_data
from core.job.cautions import LAST_WORD
from core.job.job import Job
from core.job.kept_size import keeps_size
from core.job.plan import LayerPlan, Plan
from core.job.report import coverage_data, recipe_data
from core.sheet.faces import turned_corner

VERSION = 1
NAMESPACE = "urn:tain:job:1"

Document = dict[str, Any]


def settings_document(plan: Plan) -> Document:
    """What a receiver needs to burn the plan as it was meant, and to read it back as the same job."""
    job = plan.job
    return {
        "tain_settings": VERSION,
        "program": f"Tain {program_version()}",
        "face": "bed",
        "turn": job.turn,
        "turn_applied": True,
        "stop_corner": {"front": turned_corner(job.stop_corner, job.turn), "bed": job.stop_corner},
        "sheet": to_data(job.sheet) | {"stock": job.stock.name},
        "stock": to_data(job.stock),
        "machine": to_data(job.machine),
        "artwork": _artwork(job, plan),
        **({"copies": 1 + len(job.repeats)} if job.repeats else {}),
        "layers": [_layer(layer, order, job) for order, layer in enumerate(burned_layers(plan), start=1)],
        "time_s": plan.time_s,
        "cautions": [
            {"code": caution.code, "message": caution.message, "ticked": caution.code in job.cautions_ticked}
            for caution in plan.cautions
        ],
        "last_word": LAST_WORD,
    }


def burned_layers(plan: Plan) -> tuple[LayerPlan, ...]:
    """The layers that a machine gets, in burn order: fills, scores, cuts; no guides, none that are empty."""
    order = {"fill": 0, "score": 1, "cut": 2}
    layers = [p for p in plan.layers if p.layer.purpose in order and (p.paths or not p.region.is_empty)]
    return tuple(sorted(layers, key=lambda p: order[p.layer.purpose]))


def check_document(document: object) -> Document:
    """The document, checked against the schema. Raises UnreadableError, also for one from a newer version."""
    found = document.get("tain_settings") if isinstance(document, dict) else None
    if isinstance(found, int) and found > VERSION:
        raise UnreadableError(
            f"The settings in this file are version {found}; this Tain reads up to {VERSION}.",
            hint="Open it with a newer Tain.",
        )
    try:
        jsonschema.validate(document, schema())
    except jsonschema.ValidationError as error:
        where = "/".join(str(part) for part in error.absolute_path) or "the top"
        raise UnreadableError(f"The settings in this file are damaged at {where}: {error.message[:200]}.") from None
    assert isinstance(document, dict)
    return document


def parse_document(text: str) -> Document:
    """Text to a checked document. Raises UnreadableError."""
    try:
        return check_document(json.loads(text))
    except (json.JSONDecodeError, RecursionError):
        raise UnreadableError("The settings in this file are damaged: they are no JSON.") from None


@cache
def schema() -> Document:
    """The JSON Schema of the document (draft 2020-12)."""
    text = resources.files("core.output").joinpath("settings.schema.json").read_text("utf-8")
    loaded: Document = json.loads(text)
    return loaded


@cache
def program_version() -> str:
    """The installed version of Tain."""
    try:
        return version("tain")
    except PackageNotFoundError:
        return "0 (not installed)"


def _artwork(job: Job, plan: Plan) -> Document:
    if job.source is None:
        return {"name": "", "sha256": "", "units_from": plan.drawing.units_from}
    digest = hashlib.sha256(job.source.data).hexdigest()
    return {"name": job.source.name, "sha256": digest, "units_from": plan.drawing.units_from}


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
        "recipe": recipe_data(layer.recipe) | {"origin": to_data(layer.recipe.origin)},
        "area_mm2": planned.area_mm2,
        "length_mm": planned.length_mm,
        "time_s": planned.time_s,
        "coverage": coverage_data(planned),
    }
