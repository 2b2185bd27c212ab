"""A composed price book: what one unit of everything costs, and how much of it each task takes. Money is `decimal.Decimal`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal

from airwarrant.policy.model import FactClause, Named, WhereClause

#: Parameters of the price book begin so; checks, figures, rules and sizes may not read them.
PREFIX = "price_"
#: What is counted and not measured goes by the piece.
EACH = "each"
#: A price reads words of the record and nothing that was judged.
WordClause = WhereClause | FactClause


@dataclass(frozen=True, slots=True)
class Crew(Named):
    """`wage` is the burdened wage of one person for one hour."""

    title: str
    people: int
    wage: Decimal
    basis: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Item(Named):
    """What one `per` costs; `rows` of (size, cost) where it goes by size, a size between two taking the larger."""

    title: str
    per: str
    cost: Decimal | None
    rows: tuple[tuple[Decimal, Decimal], ...]
    size_unit: str
    basis: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Factor(Named):
    """What multiplies hours where the record says so: all of `when`, at least one of `any`, all of `below`.

    Clauses speak of the house; `below` holds (field, bound, unit). Without `months` it holds all year.
    """

    title: str
    value: Decimal
    when: tuple[WordClause, ...]
    any: tuple[WordClause, ...]
    below: tuple[tuple[str, Decimal, str], ...]
    months: tuple[int, ...] | None
    basis: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Quantity:
    """How much: a ``number``, a number ``field`` of the line's place or of the ``house``, a ``size`` of the line, or a ``count``.

    `name` is the field or the kind that is counted, `index` the position of the size, `otherwise` what is taken where the record
    does not say.
    """

    form: Literal["number", "field", "house", "size", "count"]
    said: str
    name: str = ""
    index: int = 0
    value: Decimal = Decimal(0)
    unit: str = ""
    otherwise: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Material:
    """Some of an item; `waste` in percent of the quantity."""

    item: str
    quantity: Quantity
    waste: Decimal
    size: Quantity | None = None


@dataclass(frozen=True, slots=True)
class WorkPrice:
    """Person-hours of a crew and the materials, done `times` over."""

    hours: Decimal
    crew: str
    factors: tuple[str, ...]
    materials: tuple[Material, ...]
    times: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Variant:
    """Another way to do a task, where the record says so; clauses speak of the line's place."""

    title: str
    when: tuple[WordClause, ...]
    work: WorkPrice


@dataclass(frozen=True, slots=True)
class Price(Named):
    """Price of a task's line; of the variants the first that fits stands in place of `work`."""

    work: WorkPrice
    variants: tuple[Variant, ...]
    basis: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Charge(Named):
    """What stands on the bill beside the lines.

    Attributes
    ----------
    kind : {"work", "at-cost", "allowance", "credit", "discount"}
        Hours of a crew, priced as a line; an amount passed on as it is; a share of the lines up to `cap`, held for what cannot be
        seen; a share of what one task's line costs, given back when the job is sold; a share of the lines taken off.
    share : Decimal
        In percent.
    tiers : tuple of str
        Tiers the share is taken of.
    tasks : tuple of str or None
        Only where one of these is on the scope; None: always.
    """

    title: str
    kind: str
    basis: Mapping[str, Any]
    work: WorkPrice | None = None
    cost: Decimal = Decimal(0)
    share: Decimal = Decimal(0)
    cap: Decimal | None = None
    of_task: str = ""
    tiers: tuple[str, ...] = ()
    tasks: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class PriceBook:
    """Everything a policy says of prices; mappings are in name order. Without `prices` no line has an amount."""

    crews: Mapping[str, Crew] = field(default_factory=dict)
    items: Mapping[str, Item] = field(default_factory=dict)
    factors: Mapping[str, Factor] = field(default_factory=dict)
    prices: Mapping[str, Price] = field(default_factory=dict)
    charges: Mapping[str, Charge] = field(default_factory=dict)
