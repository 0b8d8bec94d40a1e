"""The JSON Schema (draft 2020-12) of the settings document: its frame from ``settings.schema.json``, its figures from
the dataclasses that declare them."""

import json
import types
from copy import deepcopy
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from core.burning.machines import Machine
from core.figures import Figure, all_figures_of, figures_of, other_limits
from core.sheet.datum import Datum
from core.sheet.placement import Sheet
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

Schema = dict[str, Any]
_PLAIN: dict[Any, str] = {float: "number", int: "integer", bool: "boolean", str: "string"}


@cache
def schema() -> Schema:
    """The schema of the document as this Tain writes it."""
    return schema_for(Recipe)


def schema_for(recipe: type[Any]) -> Schema:
    """The schema with recipes of this class."""
    text = resources.files("core.output").joinpath("settings.schema.json").read_text("utf-8")
    frame: Schema = json.loads(text)
    made = {"recipe": with_other_forms(recipe), "sheet": object_schema(Sheet), "stock": object_schema(Stock)}
    made["sheet"]["properties"]["stock"] = {"type": "string"}
    made["machine"] = object_schema(Machine)
    made["datum"] = object_schema(Datum)
    return frame | {"$defs": frame["$defs"] | made}


def object_schema(kind: type[Any]) -> Schema:
    """A frozen dataclass as an object: nothing else in it, and only what has no default is required."""
    declared = {one.name: one for one in all_figures_of(kind)}
    hints = get_type_hints(kind)
    properties, required = {}, []
    for one in fields(kind):
        figure = declared.get(one.name)
        properties[one.name] = _figure_schema(figure, hints[one.name]) if figure else _type_schema(hints[one.name])
        if one.default is MISSING and one.default_factory is MISSING:
            required.append(one.name)
    return {"type": "object", "required": required, "properties": properties, "additionalProperties": False}


def with_other_forms(kind: type[Any]) -> Schema:
    """The same with the other forms of its figures, which documents hold beside them."""
    made = deepcopy(object_schema(kind))
    for one in figures_of(kind):
        if one.other_form is not None:
            least, most = other_limits(one, one.other_form)
            # an end of the limits may be off by its rounding
            made["properties"][one.other_form.name] = {
                "type": "number", "minimum": least * (1 - 1e-9), "maximum": most * (1 + 1e-9),
                "description": f"{one.other_form.words}, {one.other_form.unit}",
            }  # fmt: skip
    return made


def _figure_schema(figure: Figure, hint: Any) -> Schema:
    if figure.kind == "numbers":
        return _type_schema(hint)
    words = f"{figure.words}, {figure.unit}" if figure.unit else figure.words
    described = f"{words}. {figure.about}" if figure.about else words
    made: Schema = {**_type_schema(hint), "description": described}
    if figure.kind in ("number", "count"):
        made |= {"minimum": figure.least, "maximum": figure.most}
    if figure.pattern:
        made["pattern"] = f"^{figure.pattern}$"
    return made


def _type_schema(hint: Any) -> Schema:
    if hint in _PLAIN:
        return {"type": _PLAIN[hint]}
    if is_dataclass(hint):
        assert isinstance(hint, type)
        return object_schema(hint)
    origin, parts = get_origin(hint), get_args(hint)
    if origin is Literal:
        return {"enum": list(parts)}
    if origin in (Union, types.UnionType) and type(None) in parts and len(parts) == 2:
        made = _type_schema(next(part for part in parts if part is not type(None)))
        return made | {"type": [made["type"], "null"]}
    if origin is tuple and parts[1:] == (...,):
        return {"type": "array", "items": _type_schema(parts[0])}
    if origin is tuple:
        each = [_type_schema(part) for part in parts]
        return {"type": "array", "prefixItems": each, "minItems": len(parts), "maxItems": len(parts)}
    raise TypeError(f"{hint} can't be said in a schema yet")
