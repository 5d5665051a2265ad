"""The job file as a JSON Schema."""

from __future__ import annotations

from typing import Any

from hearthcalc.entry import FieldSpec
from hearthcalc.job.reading import MOST_FACES
from hearthcalc.job.record import VERSION, Job
from hearthcalc.tables import Face, PlannedFace, PlannedNearby, PlannedRoof, Signed, Table


def job_schema() -> dict[str, Any]:
    """The job file as a JSON Schema, draft 2020-12."""
    definitions: dict[str, Any] = {}
    root = _schema_of(Job, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "hearthcalc job file",
        **root,
        "required": ["format", "version", "face"],
        "$defs": definitions,
    }


def _schema_of(table: type[Table], definitions: dict[str, Any]) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    for key, node in table.fields.items():
        if isinstance(node, FieldSpec):
            properties[key] = _entry_schema(node)
            continue
        if node.table.__name__ not in definitions:
            definitions[node.table.__name__] = {}
            definitions[node.table.__name__] = _schema_of(node.table, definitions)
        reference = {"$ref": f"#/$defs/{node.table.__name__}"}
        properties[key] = (
            {"type": "array", "description": _told(node.spec), "items": reference} if node.spec else reference
        )
    if table is Job:
        properties["face"] |= {"minItems": 1, "maxItems": MOST_FACES}
    needed = ["name"] if table in (Face, PlannedFace, PlannedNearby, PlannedRoof, Signed) else []
    schema = {
        "type": "object",
        "description": table.__doc__,
        "properties": properties,
        "additionalProperties": False,
    }
    return {**schema, "required": needed} if needed else schema


def _told(spec: FieldSpec) -> str:
    """What a person has to know of an entry, in one text."""
    text = f"{spec.label}. {spec.how}"
    if spec.kind == "length":
        text += ' A length as text, as in "7 1/2", "2 ft 6 in" or "190 mm", or a number in `units`.'
    if spec.hard and spec.usual:
        hard, usual = (
            " to ".join(spec.show(bound, "in") for bound in bounds) for bounds in (spec.hard, spec.usual)
        )
        text += f" Refused outside {hard}; usually {usual}."
    if spec.words:
        text += " " + "; ".join(f"{word}: {words}" for word, words in spec.words.items()) + "."
    return text


def _entry_schema(spec: FieldSpec) -> dict[str, Any]:
    schemas: dict[str, dict[str, Any]] = {
        "length": {"type": ["string", "number"]},
        "ratio": {"type": ["string", "number"]},
        "count": {"type": ["string", "integer"]},
        "choice": {"type": "string", "enum": list(spec.choices)},
        "bool": {"type": "boolean"},
        "date": {"type": "string", "format": "date"},
        "version": {"type": "integer", "const": VERSION},
        "list": {"type": "array", "items": {"type": "string"}},
    }
    schema = schemas.get(spec.kind, {"type": "string"})
    if spec.kind not in ("choice", "bool", "version", "list", "date") and spec.form not in ("prose", "notes"):
        schema = {**schema, "minLength": 1}
    return {"description": _told(spec), **schema}
