"""The JSON Schema of a case's record, made from the types that it is read by."""

from __future__ import annotations

import dataclasses
import types
import typing
from typing import Any

from mamelon.practice.document import FORMAT, VERSION, Record

_PLAIN = {str: "string", float: "number", int: "integer", bool: "boolean"}


def record_schema() -> dict[str, Any]:
    """What `document.to_json` writes: the content of data/schemas/case-record.schema.json."""
    body = _schema(Record)
    head = {
        "format": {"const": FORMAT},
        "version": {"type": "string", "pattern": f"^{VERSION[0]}\\.[0-9]+$"},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "mamelon:schemas/case-record",
        "title": "What is kept of a case",
        "description": "record.json in the file of a kept case: its plan, outcomes and visits. A "
        f"reader of version {VERSION[0]}.0 reads every {VERSION[0]}.x and passes over keys that it "
        "does not know.",
        "type": "object",
        "properties": {**head, **body["properties"]},
        "required": ["format", "version", *body["required"]],
    }


def _schema(kind: Any) -> dict[str, Any]:
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [*(_schema(k) for k in typing.get_args(kind) if k is not type(None)),
                          {"type": "null"}]}  # fmt: skip
    if dataclasses.is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        needed = [
            one.name
            for one in dataclasses.fields(kind)
            if one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
        ]
        return {
            "type": "object",
            "properties": {name: _schema(own) for name, own in hints.items()},
            "required": needed,
        }
    if origin is tuple:
        kinds = typing.get_args(kind)
        if kinds[-1] is Ellipsis:
            return {"type": "array", "items": _schema(kinds[0])}
        return {
            "type": "array",
            "prefixItems": [_schema(k) for k in kinds],
            "minItems": len(kinds),
            "maxItems": len(kinds),
        }
    if origin is dict:
        return {"type": "object", "additionalProperties": {"type": "string"}}
    return {"type": _PLAIN[kind]}
