"""What a policy's references lead to, worked out once for all jobs: what they always are, or whom to ask for it."""

from collections.abc import Sequence

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.access import Read, parameter_read
from airwarrant.policy.model import Check, Figure, Policy, Ref, Table
from airwarrant.policy.rests_on import below, check_refs
from airwarrant.rules.numbers import Number

#: A number, or None where it is unknown; what was missing for it, as often as it was asked for; the policy values read for it.
Made = tuple[Number | None, tuple[str, ...], tuple[Read, ...]]


class Plan:
    """Where the number behind a reference comes from, for subjects of one kind.

    Attributes
    ----------
    known : Made or None
        What it always is: a parameter, a quantity.
    table : Table or None
        The table that answers, for the word `name`, or for the number that `by` leads to.
    name : str
        The field or figure.
    own : bool
        Whether the subject has it itself, and not the house.
    figure : Figure or None
    parts : sequence of Plan
        Of the figure; of one that sums over a kind the single plan for each subject there.
    """

    __slots__ = ("by", "figure", "known", "name", "own", "parts", "table")

    def __init__(self, name: str = "", own: bool = False, known: Made | None = None) -> None:
        self.name, self.own, self.known = name, own, known
        self.figure: Figure | None = None
        self.parts: Sequence[Plan] = ()
        self.table: Table | None = None
        self.by: Plan | None = None


class LimitPlan:
    """The plans of one limit of a check; `fixed` are its bases that never change, by the unit they are wanted in."""

    __slots__ = ("fixed", "less", "more", "of", "plain", "times")

    def __init__(self, of: Plan, less: Plan | None, more: Plan | None, times: Plan | None) -> None:
        self.of, self.less, self.more, self.times = of, less, more, times
        self.plain = less is None and more is None and times is None
        self.fixed: dict[str, Made] = {}


class CheckPlan:
    """The plans of a check; `fields` names every reading and number that it may rest on."""

    __slots__ = ("check", "fields", "limits", "reading")

    def __init__(self, check: Check, reading: Plan, limits: tuple[LimitPlan, ...], fields: frozenset[str]) -> None:
        self.check, self.reading, self.limits, self.fields = check, reading, limits, fields


class Plans:
    """The plans of one policy, each made when it is first asked for."""

    def __init__(self, policy: Policy) -> None:
        self._policy = policy
        self._named: dict[tuple[str, str], Plan] = {}
        self._of: dict[tuple[Ref, str], Plan] = {}

    def check(self, check: Check) -> CheckPlan:
        """The plans of a check."""
        times = None if check.times is None else self.of(check.times, check.each)
        limits = [
            LimitPlan(
                self.of(limit.of, check.each),
                None if limit.less is None else self.of(limit.less, check.each),
                None if limit.more is None else self.of(limit.more, check.each),
                times,
            )
            for limit in check.limits
        ]
        fields = frozenset(name for form, name in below(self._policy, check_refs(check)) if form == "field")
        return CheckPlan(check, self.of(check.reading, check.each), tuple(limits), fields)

    def of(self, ref: Ref, kind: str) -> Plan:
        """The plan of a reference for subjects of a kind; raise `PolicyError` for a parameter that the policy does not have."""
        asked = (ref, kind)
        if asked not in self._of:
            self._of[asked] = self._made(ref, kind)
        return self._of[asked]

    def _made(self, ref: Ref, kind: str) -> Plan:
        match ref.form:
            case "field" | "figure" | "given":
                return self.named(ref.name, kind)
            case "quantity":
                number = Number("quantity", f"{ref.value:g} {ref.unit}", ref.value, ref.unit)
                return Plan(ref.name, known=(number, (), ()))
            case "parameter":
                parameter, read = parameter_read(self._policy, ref.name)
                number = Number("parameter", ref.name, float(parameter.value), parameter.unit)
                return Plan(ref.name, known=(number, (), (read,)))
            case "table":
                return self._table(ref.name, kind)
            case _:
                held = self.named(ref.name, HOUSE_KEY)
                plan = Plan(ref.name)
                plan.figure, plan.parts = held.figure, held.parts
                return plan

    def _table(self, name: str, kind: str) -> Plan:
        table = self._policy.tables[name]
        plan = Plan(table.by, own=table.by in KINDS[kind].fields)
        plan.table = table
        if table.by_unit:
            plan.by = self.named(table.by, kind)
        return plan

    def named(self, name: str, kind: str) -> Plan:
        """The plan of a field or figure of a subject of a kind, else of the house: a room's limit may stand on a figure of the house."""
        asked = (name, kind)
        if asked not in self._named:
            field = name in KINDS[kind].fields
            figure = None if field else self._policy.figures.get(name)
            plan = self._named[asked] = Plan(name, own=figure.each == kind if figure else field)
            if figure is not None:
                plan.figure = figure
                owner = kind if plan.own else HOUSE_KEY
                plan.parts = (
                    [self.named(figure.take, figure.over)]
                    if figure.step == "sum_over"
                    else [self.of(ref, owner) for ref in figure.refs]
                )
        return self._named[asked]
