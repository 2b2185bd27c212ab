"""The shape of a rule in a policy file: clauses and conclusions, told apart by the key they begin with."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from airwarrant.policy.model import Authority, Tier, Time, Word

NAME = r"^[a-z][a-z0-9_]{0,60}$"
ID = r"^[a-z][a-z0-9.-]{0,60}$"

#: Name of a parameter, table, figure, field or kind.
Name = Annotated[str, Field(pattern=NAME)]
#: Id of a rule, check, task, group, finding, hold, stop or caution.
Id = Annotated[str, Field(pattern=ID)]
Spoken = Annotated[str, Field(min_length=1, max_length=60)]
Text = Annotated[str, Field(min_length=1, max_length=400)]
Reference = Annotated[str, Field(min_length=1, max_length=80)]
When = Literal["before-sale", "during-work", "at-test-out"]


def one_or_many(value: Any) -> str:
    return "<many>" if isinstance(value, list) else "<one>"


Words = Annotated[
    Annotated[Spoken, Tag("<one>")]
    | Annotated[Annotated[list[Spoken], Field(min_length=1, max_length=16)], Tag("<many>")],
    Discriminator(one_or_many),
]
Verdicts = Annotated[
    Annotated[Word, Tag("<one>")] | Annotated[Annotated[list[Word], Field(min_length=1, max_length=4)], Tag("<many>")],
    Discriminator(one_or_many),
]
Where = Annotated[dict[Name, Words], Field(min_length=1, max_length=12)]


class Shape(BaseModel):
    """Base of every block: exact types, finite numbers, no key beyond those listed."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False, populate_by_name=False)


class WhereShape(Shape):
    where: Where


class CheckShape(Shape):
    check: Id
    is_: Verdicts = Field(alias="is")
    time: Time = "found"
    of: Name | None = None


class FindingShape(Shape):
    finding: Id
    of: Name | None = None


class LineShape(Shape):
    line: Id
    of: Name | None = None


class CarriedShape(Shape):
    carried: Id


class _Many(Shape):
    where: Where | None = None
    check: Id | None = None
    is_: Verdicts | None = Field(default=None, alias="is")
    time: Time = "found"
    finding: Id | None = None
    line: Id | None = None


class SomeShape(_Many):
    some: Name


class EveryShape(_Many):
    every: Name


class NoneShape(_Many):
    none: Name


class FactShape(Shape):
    """Keys beyond `fact` and `same` are words of the record that is looked for."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Words]

    fact: Name
    same: Annotated[dict[Name, Name], Field(max_length=4)] = Field(default_factory=dict)


class ThenFinding(Shape):
    finding: Id
    at: Name | None = None


class ThenLine(Shape):
    line: Id
    tier: Tier
    at: Name | None = None


class ThenDecline(Shape):
    decline: Spoken
    because: Text


class ThenHold(Shape):
    hold: Spoken
    until: Text
    named: Id | None = None
    when: When | None = None


class ThenLift(Shape):
    lift: Id
    for_: Id = Field(alias="for")
    why: Text
    of: Name | None = None


class ThenRetest(Shape):
    retest: Name
    how: Text
    when: When


class ThenStop(Shape):
    stop: Id


class ThenCaution(Shape):
    caution: Id


class ThenTarget(Shape):
    target: Id
    gate: bool = False


class ThenDoubt(Shape):
    doubt: Name
    to: Reference


#: What a clause may begin with, in the order in which a block is looked through.
CLAUSE_HEADS = ("some", "every", "none", "fact", "check", "finding", "line", "carried", "where")
THEN_HEADS = ("finding", "line", "decline", "hold", "lift", "retest", "stop", "caution", "target", "doubt")


def _clause_head(value: Any) -> str | None:
    return _head(value, CLAUSE_HEADS)


def _then_head(value: Any) -> str | None:
    return _head(value, THEN_HEADS)


def _head(value: Any, heads: tuple[str, ...]) -> str | None:
    if isinstance(value, dict):
        for head in heads:
            if head in value:
                return f"<{head}>"
    return None


ClauseShape = Annotated[
    Annotated[WhereShape, Tag("<where>")]
    | Annotated[CheckShape, Tag("<check>")]
    | Annotated[FindingShape, Tag("<finding>")]
    | Annotated[LineShape, Tag("<line>")]
    | Annotated[CarriedShape, Tag("<carried>")]
    | Annotated[SomeShape, Tag("<some>")]
    | Annotated[EveryShape, Tag("<every>")]
    | Annotated[NoneShape, Tag("<none>")]
    | Annotated[FactShape, Tag("<fact>")],
    Discriminator(_clause_head),
]
ThenShape = Annotated[
    Annotated[ThenFinding, Tag("<finding>")]
    | Annotated[ThenLine, Tag("<line>")]
    | Annotated[ThenDecline, Tag("<decline>")]
    | Annotated[ThenHold, Tag("<hold>")]
    | Annotated[ThenLift, Tag("<lift>")]
    | Annotated[ThenRetest, Tag("<retest>")]
    | Annotated[ThenStop, Tag("<stop>")]
    | Annotated[ThenCaution, Tag("<caution>")]
    | Annotated[ThenTarget, Tag("<target>")]
    | Annotated[ThenDoubt, Tag("<doubt>")],
    Discriminator(_then_head),
]


class RuleKeys(Shape):
    """Keys of a rule besides those every judged block has."""

    stage: Literal["trust", "guard", "diagnose", "scope", "accept"] | None = None
    authority: Authority | None = None
    each: Name | None = None
    where: Where | None = None
    when: Annotated[list[ClauseShape], Field(min_length=1, max_length=6)] | None = None
    any: Annotated[list[ClauseShape], Field(min_length=2, max_length=8)] | None = None
    unless: Annotated[list[ClauseShape], Field(min_length=1, max_length=6)] | None = None
    then: Annotated[list[ThenShape], Field(min_length=1, max_length=12)] | None = None
