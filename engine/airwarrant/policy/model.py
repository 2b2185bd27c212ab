"""A composed policy: what the layers of a market say together, each value with its place and what it overrode."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from airwarrant.source.place import Place

if TYPE_CHECKING:
    from airwarrant.policy.price_model import PriceBook

Authority = Literal["safety", "code", "listing", "data", "exclusion", "practice"]
AUTHORITIES: tuple[Authority, ...] = ("safety", "code", "listing", "data", "exclusion", "practice")
Tier = Literal["required", "recommended", "optional", "included"]
TIERS: tuple[Tier, ...] = ("required", "recommended", "optional", "included")
Time = Literal["found", "predicted", "test-out"]
Word = Literal["pass", "fail", "close", "unmeasured"]
Change = Literal[
    "widen-elbow", "renew-plenum", "enlarge-grille", "add-return-path", "upsize-return", "seal-ducts", "seal-return",
    "seal-cabinet", "seal-plenum", "repair-run", "balance", "damper", "undercut", "transfer", "bedroom-return", "fan-setting",
]  # fmt: skip
Sense = Literal["at most", "at least", "below", "above"]


@dataclass(frozen=True, slots=True)
class Overridden:
    """A value that a later layer replaced."""

    value: Any
    layer: str
    place: Place


@dataclass(frozen=True, slots=True)
class Sourced:
    """A value in force with the layer and place that set it; `overrode` is oldest first."""

    value: Any
    layer: str
    place: Place
    overrode: tuple[Overridden, ...] = ()


@dataclass(frozen=True, slots=True)
class Ref:
    """What a check or figure refers to.

    `form` is ``parameter`` (``@name``), ``table`` (``@name`` of a table), ``field`` (a field of the subject), ``house``
    (``house.name``), ``figure`` or ``quantity`` (``400 cfm/ton``; then `value` and `unit` hold it). In a calculation that policy
    asks for it may be ``given``: the chosen ``size`` of a proof, the ``key`` and ``answer`` of a table's row.
    """

    form: Literal["parameter", "table", "field", "house", "figure", "quantity", "given"]
    name: str
    value: float = 0.0
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: a base, possibly less or more than it by a percentage of the base or by a quantity."""

    of: Ref
    less: Ref | None = None
    more: Ref | None = None


@dataclass(frozen=True, slots=True)
class Named:
    """What every named block has in common: its name, place, and provenance of each key."""

    name: str
    place: Place
    layer: str
    keys: Mapping[str, Sourced] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Given:
    """What policy gives one key of a calculation: a `word` of its list, or the product of `refs`, most often of one."""

    key: str
    word: str = ""
    refs: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A calculation that policy asks for: its name, a value for each key, and the output that is taken, in `unit`."""

    calculate: str
    given: tuple[Given, ...]
    take: str
    unit: str


@dataclass(frozen=True, slots=True)
class Proof:
    """A calculation at a size that is already chosen, shown; with a limit also judged.

    Attributes
    ----------
    show : tuple of str
        Further outputs that a reader is shown.
    next_size : bool
        A size that fails takes the next step up; otherwise the failure is said and the size stands.
    """

    title: str
    asked: Asked
    show: tuple[str, ...] = ()
    must_be: Sense | None = None
    limit: Ref | None = None
    next_size: bool = False


@dataclass(frozen=True, slots=True)
class Parameter(Named):
    value: float | str
    unit: str
    title: str
    edit: str
    basis: Mapping[str, Any]
    safer: str = ""


@dataclass(frozen=True, slots=True)
class Table(Named):
    rows: tuple[tuple[float | str, float], ...]
    by: str
    by_unit: str  # empty: the rows' keys are words
    unit: str
    title: str
    edit: str
    basis: Mapping[str, Any]
    between: str = "no-answer"  # next-row | last-row-at-or-below | no-answer
    below_first: str = "no-answer"  # first-row | no-answer
    above_last: str = "no-answer"  # last-row | no-answer
    safer: str = ""
    #: what the rows come to, calculated for each row where an owner looks at the table
    beside: tuple[Proof, ...] = ()
    #: where the answer of each row stands
    row_places: tuple[Place, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class Figure(Named):
    title: str
    each: str
    unit: str
    #: size_of, larger_of, smaller_of, largest_known_of, first_known_of, ratio_of, sum_of, difference_of, gap_between, product_of,
    #: share_of, sum_over
    step: str
    refs: tuple[Ref, ...] = ()
    over: str = ""  # sum_over: the kind
    take: str = ""  # sum_over: the field


@dataclass(frozen=True, slots=True)
class Check(Named):
    title: str
    each: str
    reading: Ref  # form field or figure
    must_be: Sense
    limits: tuple[Limit, ...]
    choose: Literal["limit", "strictest_limit", "loosest_limit"]
    times: Ref | None = None
    needs: tuple[str, ...] = ()
    doubt: Literal["retest", "against", "ignore"] = "retest"
    acceptance: bool = False
    retest_when: str = ""  # before-sale | during-work | at-test-out; empty: the policy's default


Words = tuple[tuple[str, tuple[str, ...]], ...]  # ((field, (word, word)), ...), fields sorted


@dataclass(frozen=True, slots=True)
class WhereClause:
    where: Words


@dataclass(frozen=True, slots=True)
class CheckClause:
    """`target` is resolved when the policy is composed: ``own``, ``house`` or the name of a link field."""

    check: str
    is_: tuple[str, ...]
    time: Time = "found"
    target: str = "own"


@dataclass(frozen=True, slots=True)
class FindingClause:
    finding: str
    target: str = "own"


@dataclass(frozen=True, slots=True)
class LineClause:
    task: str
    target: str = "own"


@dataclass(frozen=True, slots=True)
class CarriedClause:
    """True when the task was scoped, at any place, in the round before."""

    task: str


@dataclass(frozen=True, slots=True)
class ManyClause:
    """some / every / none of a kind's subjects that match `where`; with no test, their existence. `every` of none holds."""

    quantifier: Literal["some", "every", "none"]
    kind: str
    where: Words = ()
    check: str = ""
    is_: tuple[str, ...] = ()
    time: Time = "found"
    finding: str = ""
    line: str = ""


@dataclass(frozen=True, slots=True)
class FactClause:
    """Some record of `kind` whose fields equal mine: `same` pairs its field with mine; ``id`` is a subject's key."""

    kind: str
    same: tuple[tuple[str, str], ...]
    where: Words = ()


Clause = WhereClause | CheckClause | FindingClause | LineClause | CarriedClause | ManyClause | FactClause


@dataclass(frozen=True, slots=True)
class Then:
    """One conclusion.

    `what` is ``finding, line, decline, hold, lift, retest, stop, caution, target, doubt``; `name` the finding, task, target
    (``task:x``, ``group:x``, ``proposal``), hold name, reading, stop, caution or check that it speaks of.
    """

    what: str
    name: str
    tier: str = ""  # line
    at: str = ""  # finding, line: link field whose record is the place; absent link: the house
    text: str = ""  # decline: because; hold: until; lift: why; retest: how
    named: str = ""  # hold: its name for lifts
    for_: str = ""  # lift: the task
    of: str = ""  # lift: only holds voted by the record this link field names
    when: str = ""  # retest, hold: before-sale | during-work | at-test-out
    gate: bool = False  # target
    to: Ref | None = None  # doubt


@dataclass(frozen=True, slots=True)
class Rule(Named):
    title: str
    stage: str
    authority: Authority
    each: str
    where: Words
    when: tuple[Clause, ...]
    any: tuple[Clause, ...]
    unless: tuple[Clause, ...]
    then: tuple[Then, ...]
    #: (``when`` | ``any`` | ``unless``, index) -> where the clause stands
    clause_places: Mapping[tuple[str, int], Place] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class Need:
    task: str
    while_finding: str


Governs = Literal["table", "calculation", "larger", "smaller"]
PastMost = Literal["several", "stop"]


@dataclass(frozen=True, slots=True)
class Size:
    """One size of a task's line: from policy, from a calculation, or from both; then `governs` says which counts.

    Attributes
    ----------
    title : str
        What is sized.
    unit : str
    value : Ref or None
        What policy says: a row of a table, or another value, figure or field.
    asked : Asked or None
    step : Ref or None
        Sizes come in whole steps of this; a size between two takes the larger.
    most : Ref or None
        Largest there is room for.
    past_most : {"several", "stop"}
        Beyond `most`: several equal ones whose areas add up, or `most` itself, said to be too little.
    unknown, zero : str
        Said keys for a size that cannot be had, and for one of nothing.
    """

    title: str
    unit: str
    value: Ref | None
    asked: Asked | None
    governs: Governs
    step: Ref | None = None
    most: Ref | None = None
    past_most: PastMost = "stop"
    proofs: tuple[Proof, ...] = ()
    unknown: str = ""
    zero: str = ""


@dataclass(frozen=True, slots=True)
class Task(Named):
    title: str
    groups: tuple[str, ...] = ()
    unit_off: bool = False
    after: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()
    #: the first is the one the prediction is told of
    sizes: tuple[Size, ...] = ()
    #: what the work changes in the air path, for the prediction; empty: nothing that is predicted
    changes: Change | Literal[""] = ""
    #: dropped again when its predicted gain at the registers is under the policy's `gain_floor`
    must_gain: bool = False
    #: what the papers promise rests on it: neither homeowner nor firm leaves its line out
    promised: bool = False


@dataclass(frozen=True, slots=True)
class Market:
    name: str
    title: str
    layers: tuple[str, ...]
    jurisdiction: str
    editions: tuple[str, ...]
    currency: str
    dates_by_layer: Mapping[str, str]  # layer folder (codes, companies, …) -> survey | proposal | permit
    place: Place
    #: where each key of the market's file stands
    keys: Mapping[str, Place] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class Policy:
    """The composed policy of one market at one set of dates. Mappings are in name order; `digest` is over meaning only."""

    market: Market
    parameters: Mapping[str, Parameter]
    tables: Mapping[str, Table]
    figures: Mapping[str, Figure]
    checks: Mapping[str, Check]
    rules: Mapping[str, Rule]
    tasks: Mapping[str, Task]
    said: Mapping[str, Mapping[str, Sourced]]  # rule, task or word id -> language -> text
    layers: tuple[tuple[str, str], ...]  # (layer, effective date) in the order applied
    digest: str
    #: None where no layer says anything of prices
    prices: "PriceBook | None" = None
