"""The shape of a price book in a policy file: crews, items, factors, prices of tasks, and charges beside the lines."""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from airwarrant.policy.basis_shape import BasisShape, Note
from airwarrant.policy.model import Tier
from airwarrant.policy.rule_shape import ClauseShape, Id, Name, Reference, Shape, Spoken, Text

#: Who may change a price: it is nobody's law and nobody's safety.
PriceEdit = Literal["company", "job"]
ChargeKind = Literal["work", "at-cost", "allowance", "credit", "discount"]


class _Priced(Shape):
    title: Text | None = None
    edit: PriceEdit | None = None
    basis: BasisShape | None = None
    note: Note | None = None


class CrewShape(_Priced):
    """Who does the work: how many, and the burdened wage of one person for one hour, in the market's currency."""

    people: int | None = None
    wage: float | None = None


SizeRow = Annotated[list[float], Field(min_length=2, max_length=2)]


class ItemShape(_Priced):
    """Something that is bought: what one `per` of it costs, or what that costs by its size."""

    per: Spoken | None = None
    cost: float | None = None
    by_size: Annotated[list[SizeRow], Field(min_length=1, max_length=60)] | None = None
    size_unit: Spoken | None = None


Clauses = Annotated[list[ClauseShape], Field(min_length=1, max_length=8)]


class FactorShape(_Priced):
    """What multiplies hours: where the record says so, in some months or in all."""

    value: float | None = None
    when: Clauses | None = None
    any: Clauses | None = None
    below: Annotated[dict[Name, Reference], Field(min_length=1, max_length=4)] | None = None
    months: Annotated[list[int], Field(max_length=12)] | None = None


def _number_or_reference(value: Any) -> str:
    return "<reference>" if isinstance(value, str) else "<number>"


Amount = Annotated[
    Annotated[Reference, Tag("<reference>")] | Annotated[float, Tag("<number>")], Discriminator(_number_or_reference)
]


class MaterialShape(Shape):
    """Some of an item; `size` picks its row where it costs by size."""

    item: Id
    per: Spoken
    quantity: Amount
    otherwise: float | None = None
    waste: float | None = None
    size: Amount | None = None
    size_otherwise: float | None = None


class _Work(Shape):
    hours: float | None = None
    crew: Id | None = None
    times: Amount | None = None
    times_otherwise: float | None = None
    factors: Annotated[list[Id], Field(max_length=12)] | None = None
    materials: Annotated[list[MaterialShape], Field(max_length=24)] | None = None


class VariantShape(_Work):
    """Another way to do a task, where the record says so; it stands in place of hours, crew, factors and materials."""

    title: Text
    when: Clauses


class PriceShape(_Work, _Priced):
    """Price of a task's line; the block has the task's name."""

    variant: Annotated[list[VariantShape], Field(max_length=6)] | None = None


Ids = Annotated[list[Id], Field(min_length=1, max_length=24)]


class ChargeShape(_Priced):
    """What stands on the bill beside the lines of work."""

    kind: ChargeKind | None = None
    hours: float | None = None
    crew: Id | None = None
    factors: Annotated[list[Id], Field(max_length=12)] | None = None
    cost: float | None = None
    share: float | None = None
    cap: float | None = None
    of_task: Id | None = None
    tiers: Annotated[list[Tier], Field(min_length=1, max_length=4)] | None = None
    with_tasks: Ids | None = None
    with_groups: Ids | None = None
