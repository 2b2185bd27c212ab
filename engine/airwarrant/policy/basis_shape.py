"""Keys that every judged block of a policy file may have: title, right, basis, note."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, WithJsonSchema

from airwarrant.policy.rule_shape import Shape, Spoken, Text

Edit = Literal["locked", "code", "company", "job"]
Safer = Literal["lower", "higher"]
Note = Annotated[str, Field(min_length=1, max_length=4000)]

#: Stands where a local fact is still to be filled in; no live job is evaluated while it does.
UNFILLED = "?"


def _day_or_unfilled(value: Any) -> str:
    return "<unfilled>" if value == UNFILLED else "<day>"


Adopted = Annotated[
    Annotated[date, Tag("<day>")] | Annotated[Literal["?"], Tag("<unfilled>")],
    Discriminator(_day_or_unfilled),
    WithJsonSchema({"anyOf": [{"type": "string", "format": "date"}, {"const": UNFILLED}]}),
]


class BasisShape(Shape):
    """Where a value comes from."""

    kind: Literal["published", "common-practice", "engineering-judgement", "demo"]
    cite: Text | None = None
    edition: Spoken | None = None
    adopted: Adopted | None = None
    unconfirmed: bool = False


class Judged(Shape):
    """Keys that every value, check and rule may have."""

    title: Text | None = None
    edit: Edit | None = None
    basis: BasisShape | None = None
    note: Note | None = None
