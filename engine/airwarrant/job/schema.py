"""The JSON Schema of a job record, for editors and other programs; made from the same models that read records."""

from typing import Any

from airwarrant.job.shape import job_model

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the schema (2020-12) of a record; ``units`` chooses between the ranges of the two unit systems."""
    schema: dict[str, Any] = {
        "$schema": DIALECT,
        "$id": "airwarrant/job/1",
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
