"""The JSON Schemas of everything a site publishes, in the draft that AsyncAPI 3 builds on (07)."""

from __future__ import annotations

import warnings
from typing import Any

from pydantic import BaseModel, TypeAdapter
from pydantic.json_schema import PydanticJsonSchemaWarning, models_json_schema

from pullcall.bus.channels import EVERY
from pullcall.events import Input, Note
from pullcall.log.header import VERSION
from pullcall.log.records import kinds

Schema = dict[str, Any]
#: The schema of a record of the cook log, whatever its kind.
RECORD = "Record"
_PLACE = "#/components/schemas/{model}"


def reference(name: str) -> Schema:
    """A reference to one of :func:`schemas`."""
    return {"$ref": _PLACE.format(model=name)}


def schemas() -> dict[str, Schema]:
    """Every schema by its name, those that others refer to too, in the order of their names."""
    models = [channel.payload for channel in EVERY if channel.payload is not None]
    found = _of_models(models) | _of_records()
    return {name: found[name] for name in sorted(found)}


def _of_models(models: list[type[BaseModel]]) -> dict[str, Schema]:
    _, made = models_json_schema([(m, "validation") for m in models], ref_template=_PLACE)
    defined: dict[str, Schema] = made["$defs"]
    return {name: _draft_07(schema) for name, schema in defined.items()}


def _of_records() -> dict[str, Schema]:
    """One of each kind of record, and the choice between them; a later version may have more."""
    found: dict[str, Schema] = {}
    named = {kind: _of_record(kind, made, found) for kind, made in kinds().items()}
    named["note"] = _of_record("note", Note, found)
    named["cook"] = _COOK
    named["omission"] = _OMISSION
    unknown = {"not": {"enum": sorted(named)}, "type": "string"}
    named["unknown"] = {
        "description": "A kind of record that only a later version knows.",
        "type": "object",
        "properties": {"record": unknown},
        "required": ["record"],
    }
    records = {f"{kind.capitalize()}Record": schema for kind, schema in named.items()}
    choice = {
        "description": "A line of the cook log, as docs/cook-log.md describes it.",
        "oneOf": [reference(name) for name in records],
    }
    return found | records | {RECORD: choice}


def _of_record(kind: str, made: type[Input | Note], found: dict[str, Schema]) -> Schema:
    """The fields of what is logged are the keys of its record."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PydanticJsonSchemaWarning)
        schema: Schema = _draft_07(TypeAdapter(made).json_schema(ref_template=_PLACE))
    found |= schema.pop("$defs", {})
    return {
        "description": schema["description"],
        "type": "object",
        "properties": {"record": {"const": kind}, **schema["properties"]},
        "required": ["record", *schema["required"]],
    }


#: The header's keys that are always there.
_COOK: Schema = {
    "description": "The settings that a cook starts with; what is as usual is left out.",
    "type": "object",
    "properties": {
        "record": {"const": "cook"},
        "version": {"const": VERSION},
        "cook": {"type": "string"},
        "started": {"type": "string", "format": "date-time"},
        "steaks": {"type": "array", "minItems": 1, "items": {"type": "object"}},
        "rest_on": {"type": "string"},
        "plan": {"type": "array", "items": reference("PlannedMark")},
    },
    "required": ["record", "version", "cook", "started", "steaks", "rest_on", "plan"],
}

#: Either one input, as the record that it is, or every one of these kinds in a span of time.
_OMISSION: Schema = {
    "description": "What the cook goes on without, for the core failed at it.",
    "type": "object",
    "properties": {
        "record": {"const": "omission"},
        "t": {"type": "number"},
        "failed_t": {"type": "number"},
        "why": {"type": "string"},
        "input": reference(RECORD),
        "span": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
        "kinds": {"type": "array", "items": {"type": "string"}},
    },
    "required": ["record", "t", "failed_t", "why"],
    "oneOf": [{"required": ["input"]}, {"required": ["span", "kinds"]}],
}


def _draft_07(node: Any) -> Any:
    """The same without titles that only repeat names, and with tuples as that draft says them."""
    if isinstance(node, list):
        return [_draft_07(one) for one in node]
    if not isinstance(node, dict):
        return node
    made = {
        key: _draft_07(value)
        for key, value in node.items()
        if not (key == "title" and isinstance(value, str))
    }
    if "prefixItems" in made:
        made |= {"items": made.pop("prefixItems"), "additionalItems": False}
    return made
