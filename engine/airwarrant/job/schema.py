"""The JSON Schema of a job record, for editors and other programs; made from the same models that read records."""

import json
import re
from collections.abc import Mapping
from typing import Any

from airwarrant.job.shape import job_model
from airwarrant.job.test_out import FORMAT, HEAD, KIND, UNIT

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the schema (2020-12) of a record; ``units`` chooses between the ranges of the two unit systems."""
    schema: dict[str, Any] = {
        "$schema": DIALECT,
        "$id": "urn:airwarrant:job:1",
        "title": "airwarrant job record",
        "type": "object",
        "required": ["units"],
        "if": {"properties": {"units": {"const": "si"}}},
        "then": {"$ref": "#/$defs/si.job"},
        "else": {"$ref": "#/$defs/ip.job"},
        "$defs": {},
    }
    for system in ("ip", "si"):
        model = job_model(system).model_json_schema(ref_template=f"#/$defs/{system}.{{model}}")
        blocks = {**model.pop("$defs"), "job": model}
        schema["$defs"] |= {f"{system}.{name}": _plain(block) for name, block in sorted(blocks.items())}
    return schema


def test_out_schema() -> dict[str, Any]:
    """Return the schema (2020-12) of a test-out file: its visits and instruments are shaped as a record's."""
    schema = job_schema()
    blocks = schema["$defs"]
    for system in ("ip", "si"):
        job, visit = blocks[f"{system}.job"], blocks[f"{system}.visit"]
        heads = job["properties"]
        visit["properties"] |= {"kind": {"const": KIND}, "unit": {"const": UNIT}}
        visit["required"] = sorted({*visit["required"], "date"})
        properties = {name: heads["id" if name == "job" else name] for name in HEAD if name != "format"}
        properties["visit"] = {**properties["visit"], "minItems": 1}
        blocks[f"{system}.job"] = {
            **job,
            "description": "The readings of a test-out",
            "properties": {"format": {"const": FORMAT}, **properties},
            "required": ["format", "job", "units", "visit"],
        }
    used = {name for system in ("ip", "si") for name in _used(f"{system}.job", blocks)}
    schema["$defs"] = {name: block for name, block in blocks.items() if name in used}
    return {**schema, "$id": "urn:airwarrant:test-out:1", "title": "airwarrant test-out"}


def _used(name: str, blocks: Mapping[str, Any]) -> set[str]:
    """A block and every block it refers to, however far."""
    found: set[str] = set()
    open_ = [name]
    while open_:
        one = open_.pop()
        if one not in found:
            found.add(one)
            open_ += re.findall(r'"#/\$defs/([^"]+)"', json.dumps(blocks[one]))
    return found


def _plain(node: Any) -> Any:
    """Drop what pydantic adds of its own: titles made from keys, and null as the default of an absent key."""
    if isinstance(node, list):
        return [_plain(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    made = isinstance(node.get("title"), str)
    return {
        key: _plain(value)
        for key, value in node.items()
        if not (key == "title" and made) and not (key == "default" and value is None)
    }
