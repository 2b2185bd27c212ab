"""The shape of one policy file and of one market file; the JSON Schemas are generated from here.

A later layer may give any part of a block, so nearly every key is optional here; what a new block must have is checked
when the layers are put together.
"""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Discriminator, Field, Tag
from pydantic.json_schema import GenerateJsonSchema

from airwarrant.policy.basis_shape import Judged, Note, Safer
from airwarrant.policy.model import Change, Governs, PastMost, Sense
from airwarrant.policy.price_shape import ChargeShape, CrewShape, FactorShape, ItemShape, PriceShape
from airwarrant.policy.rule_shape import ID, NAME, Id, Name, Reference, RuleKeys, Shape, Spoken, Text, When

__all__ = ["ID", "NAME", "MarketFile", "PolicyFile", "market_schema", "plain_schema", "policy_schema"]


def _number_or_word(value: Any) -> str:
    return "<word>" if isinstance(value, str) else "<number>"


NumberOrWord = Annotated[
    Annotated[Spoken, Tag("<word>")] | Annotated[float, Tag("<number>")], Discriminator(_number_or_word)
]


class ParameterShape(Judged):
    value: NumberOrWord | None = None
    unit: Spoken | None = None
    of: Text | None = None
    safer: Safer | None = None
    choices: Annotated[list[NumberOrWord], Field(min_length=1, max_length=24)] | None = None


class ProductShape(Shape):
    """Two or more values multiplied."""

    product_of: Annotated[list[Reference], Field(min_length=2, max_length=4)]


def _plain_or_product(value: Any) -> str:
    return "<product>" if isinstance(value, dict) else "<plain>"


GivenShape = Annotated[
    Annotated[Reference, Tag("<plain>")] | Annotated[ProductShape, Tag("<product>")], Discriminator(_plain_or_product)
]
GivenKeys = Annotated[dict[Name, GivenShape], Field(min_length=1, max_length=24)]


class _Asking(Shape):
    """A calculation at a size that is chosen already."""

    title: Text
    calculate: Id
    with_: GivenKeys = Field(alias="with")
    take: Name
    show: Annotated[list[Name], Field(min_length=1, max_length=6)] | None = None
    must_be: Sense | None = None
    limit: Reference | None = None


class BesideShape(_Asking):
    pass


class ProofShape(_Asking):
    otherwise: Literal["next-size"] | None = None


Row = Annotated[list[NumberOrWord], Field(min_length=2, max_length=2)]


class TableShape(Judged):
    by: Name | None = None
    by_unit: Spoken | None = None
    unit: Spoken | None = None
    rows: Annotated[list[Row], Field(min_length=1, max_length=200)] | None = None
    between: Literal["next-row", "last-row-at-or-below", "no-answer"] | None = None
    below_first: Literal["first-row", "no-answer"] | None = None
    above_last: Literal["last-row", "no-answer"] | None = None
    safer: Safer | None = None
    beside: Annotated[list[BesideShape], Field(min_length=1, max_length=8)] | None = None


Parts = Annotated[list[Reference], Field(min_length=2, max_length=8)]
Pair = Annotated[list[Reference], Field(min_length=2, max_length=2)]


class FigureShape(Shape):
    title: Text | None = None
    each: Name | None = None
    unit: Spoken | None = None
    size_of: Reference | None = None
    larger_of: Parts | None = None
    smaller_of: Parts | None = None
    largest_known_of: Parts | None = None
    first_known_of: Parts | None = None
    ratio_of: Pair | None = None
    sum_of: Parts | None = None
    difference_of: Parts | None = None
    gap_between: Pair | None = None
    product_of: Parts | None = None
    share_of: Pair | None = None
    sum_over: Name | None = None
    take: Name | None = None
    note: Note | None = None


class OffsetShape(Shape):
    """A limit that is less or more than another by a percentage of it or by a quantity."""

    of: Reference
    less: Reference | None = None
    more: Reference | None = None


def _plain_or_offset(value: Any) -> str:
    return "<offset>" if isinstance(value, dict) else "<plain>"


LimitShape = Annotated[
    Annotated[Reference, Tag("<plain>")] | Annotated[OffsetShape, Tag("<offset>")], Discriminator(_plain_or_offset)
]
Limits = Annotated[list[LimitShape], Field(min_length=2, max_length=6)]


class CheckBlock(Judged):
    id: Id
    each: Name | None = None
    reading: Reference | None = None
    must_be: Sense | None = None
    limit: LimitShape | None = None
    strictest_limit: Limits | None = None
    loosest_limit: Limits | None = None
    times: Reference | None = None
    needs: (
        Annotated[list[Literal["measured", "table", "stated", "assumed"]], Field(min_length=1, max_length=4)] | None
    ) = None
    doubt: Literal["retest", "against", "ignore"] | None = None
    acceptance: bool | None = None
    retest_when: When | None = None
    review_by: date | None = None


class RuleBlock(Judged, RuleKeys):
    id: Id
    review_by: date | None = None


class NeedShape(Shape):
    task: Id
    while_finding: Id


class SizeShape(Shape):
    title: Text
    table: Name | None = None
    value: Reference | None = None
    calculate: Id | None = None
    with_: GivenKeys | None = Field(default=None, alias="with")
    take: Name | None = None
    governs: Governs | None = None
    step: Reference | None = None
    most: Reference | None = None
    past_most: PastMost | None = None
    prove: Annotated[list[ProofShape], Field(min_length=1, max_length=4)] | None = None
    if_unknown: Id | None = None
    if_zero: Id | None = None


class TaskShape(Shape):
    title: Text | None = None
    groups: Annotated[list[Id], Field(max_length=16)] | None = None
    unit_off: bool | None = None
    after: Annotated[list[Id], Field(max_length=32)] | None = None
    needs: Annotated[list[NeedShape], Field(max_length=8)] | None = None
    size: Annotated[list[SizeShape], Field(min_length=1, max_length=4)] | None = None
    changes: Change | None = None
    must_gain: bool | None = None
    promised: bool | None = None
    note: Note | None = None


Said = Annotated[str, Field(min_length=1, max_length=2000)]


class SaidShape(Shape):
    """One text in each language; `for`, where it is not for everybody who reads papers of the job."""

    en: Said | None = None
    es: Said | None = None
    for_: Literal["homeowner", "crew"] | None = Field(default=None, alias="for")


REMOVED = r"^(parameter|table|figure|check|rule|task|said|crew|item|factor|price|charge):[a-z][a-z0-9_.-]{0,60}$"


class RemoveShape(Shape):
    name: Annotated[str, Field(pattern=REMOVED)]
    why: Text


class HeadShape(Shape):
    title: Text
    review_by: date


class PolicyFile(Shape):
    """One file of a layer."""

    policy: HeadShape
    parameter: dict[Name, ParameterShape] = Field(default_factory=dict)
    table: dict[Name, TableShape] = Field(default_factory=dict)
    figure: dict[Name, FigureShape] = Field(default_factory=dict)
    check: Annotated[list[CheckBlock], Field(max_length=500)] = Field(default_factory=list)
    rule: Annotated[list[RuleBlock], Field(max_length=500)] = Field(default_factory=list)
    task: dict[Id, TaskShape] = Field(default_factory=dict)
    said: dict[Id, SaidShape] = Field(default_factory=dict)
    crew: dict[Id, CrewShape] = Field(default_factory=dict)
    item: dict[Id, ItemShape] = Field(default_factory=dict)
    factor: dict[Id, FactorShape] = Field(default_factory=dict)
    price: dict[Id, PriceShape] = Field(default_factory=dict)
    charge: dict[Id, ChargeShape] = Field(default_factory=dict)
    remove: Annotated[list[RemoveShape], Field(max_length=200)] = Field(default_factory=list)


GovernsDate = Literal["survey", "proposal", "permit"]


class DatesShape(Shape):
    """Which date of the job governs which kind of layer."""

    trade: GovernsDate = "proposal"
    codes: GovernsDate = "permit"
    regions: GovernsDate = "proposal"
    companies: GovernsDate = "proposal"


class MarketShape(Shape):
    title: Text
    layers: Annotated[
        list[Annotated[str, Field(pattern=r"^(trade|(codes|regions|companies)/[a-z0-9][a-z0-9-]{0,59})$")]],
        Field(min_length=1, max_length=24),
    ]
    jurisdiction: Annotated[str, Field(max_length=120)]
    editions: Annotated[list[Spoken], Field(max_length=24)] = Field(default_factory=list)
    currency: Spoken
    dates_by_layer: DatesShape = Field(default_factory=DatesShape)


class MarketFile(Shape):
    """A market: which layers, in which order."""

    market: MarketShape


def policy_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a policy file."""
    return plain_schema(PolicyFile, "A policy file")


def market_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a market file."""
    return plain_schema(MarketFile, "A market file")


def plain_schema(model: type[BaseModel], title: str) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a shape of TOML."""
    schema = model.model_json_schema(mode="validation", schema_generator=_WithoutNull)
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema, "title": title}


class _WithoutNull(GenerateJsonSchema):
    """TOML has no null: an optional key is one that may be absent, not one that may be empty."""

    def nullable_schema(self, schema: Any) -> Any:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: Any) -> Any:
        inner = super().default_schema(schema)
        if inner.get("default", 0) is None:
            del inner["default"]
        return inner

    def dict_schema(self, schema: Any) -> Any:
        inner = super().dict_schema(schema)
        return {**inner, "additionalProperties": False} if "patternProperties" in inner else inner
