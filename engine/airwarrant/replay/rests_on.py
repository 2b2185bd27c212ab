"""What a check rests on: every value, table, figure and field below it, and which way a number goes as one of them rises."""

from collections.abc import Iterable, Iterator
from typing import Literal

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import Check, Figure, Limit, Policy, Ref, Table

#: A block by the form of its references and its name: parameter, table, figure or field.
Key = tuple[str, str]
#: How a number moves as a value below it rises; None where that is not known.
Slope = Literal[-1, 0, 1] | None


def check_refs(check: Check) -> tuple[Ref, ...]:
    """Every reference of a check: its reading, its limits and their share."""
    return (check.reading, *limits_refs(check))


def limits_refs(check: Check) -> tuple[Ref, ...]:
    """Every reference of the limits of a check, and of the share that multiplies them."""
    times = () if check.times is None else (check.times,)
    return tuple(ref for limit in check.limits for ref in limit_refs(limit)) + times


def percent(policy: Policy, ref: Ref) -> bool:
    """Whether a number is a percentage: of a limit it is taken as a share."""
    parameter = policy.parameters.get(ref.name) if ref.form == "parameter" else None
    return ref.unit == "%" if ref.form == "quantity" else parameter is not None and parameter.unit == "%"


def below(policy: Policy, refs: Iterable[Ref]) -> tuple[Key, ...]:
    """All that references rest on, each once: through figures of figures and the readings by which tables answer."""
    found: dict[Key, None] = {}
    left = list(refs)
    while left:
        ref = left.pop(0)
        key = key_of(policy, ref)
        if key in found or ref.form == "quantity":
            continue
        found[key] = None
        left += _parts(policy, key)
    return tuple(found)


def key_of(policy: Policy, ref: Ref) -> Key:
    """The block that a reference names; one of the house's is a figure or a field."""
    if ref.form in ("field", "house", "figure"):
        return ("figure" if ref.name in policy.figures else "field"), ref.name
    return ref.form, ref.name


def _parts(policy: Policy, key: Key) -> Iterator[Ref]:
    form, name = key
    if form == "figure":
        figure = policy.figures[name]
        yield from figure.refs
        if figure.take:
            yield Ref("field", figure.take)
    elif form == "table" and name in policy.tables and policy.tables[name].by_unit:
        yield Ref("field", policy.tables[name].by)


class Slopes:
    """Which way numbers of a policy go as one value below them rises: a parameter, or what one table answers."""

    def __init__(self, policy: Policy, value: Key) -> None:
        self._policy, self._value = policy, value

    def margin(self, check: Check) -> Slope:
        """Of what is read less its limit."""
        limits = [self._limit(limit, check.times, check.each) for limit in check.limits]
        return _sum((self.of(check.reading, check.each), _opposite(_sum(limits))))

    def of(self, ref: Ref, kind: str) -> Slope:
        """Of the number behind a reference that a record of `kind` makes."""
        key = key_of(self._policy, ref)
        if key == self._value:
            return 1
        if self._value not in below(self._policy, (ref,)):
            return 0
        if key[0] == "table":
            return None  # the value moves what the table is asked by
        return self._figure(self._policy.figures[key[1]])

    def _figure(self, figure: Figure) -> Slope:
        slopes = [self.of(ref, figure.each) for ref in figure.refs]
        match figure.step:
            case "larger_of" | "smaller_of" | "sum_of" | "largest_known_of" | "first_known_of":
                return _sum(slopes)
            case "sum_over":
                return self.of(Ref("field", figure.take), figure.over)
            case "difference_of":
                return _sum((slopes[0], *map(_opposite, slopes[1:])))
            case "product_of":
                return _sum(slopes) if self.positive(figure.refs, figure.each) else None
            case "ratio_of" | "share_of":
                positive = self.positive(figure.refs, figure.each)
                return _sum((slopes[0], _opposite(slopes[1]))) if positive else None
            case "size_of":
                return slopes[0] if self.positive(figure.refs, figure.each) else None
            case _:
                return None

    def _limit(self, limit: Limit, times: Ref | None, kind: str) -> Slope:
        slopes = [self.of(limit.of, kind)]
        scaled = [ref for ref in (limit.less, limit.more) if ref is not None and percent(self._policy, ref)]
        scaled += [] if times is None else [times]
        if any(self.of(ref, kind) != 0 for ref in scaled) and not self.positive((limit.of,), kind):
            return None
        if slopes[0] != 0 and times is not None and not self.positive((times,), kind):
            return None
        for ref, sign in ((limit.less, -1), (limit.more, 1), (times, 1)):
            if ref is not None:
                slope = self.of(ref, kind)
                slopes.append(slope if sign > 0 else _opposite(slope))
        return _sum(slopes)

    def positive(self, refs: Iterable[Ref], kind: str) -> bool:
        """Whether none of these numbers can be below nothing."""
        return all(self._no_less_than_nothing(ref, kind) for ref in refs)

    def _no_less_than_nothing(self, ref: Ref, kind: str) -> bool:
        form, name = key_of(self._policy, ref)
        match form:
            case "quantity":
                return ref.value >= 0.0
            case "parameter":
                value = self._policy.parameters[name].value
                return not isinstance(value, str) and value >= 0.0
            case "table":
                return all(answer >= 0.0 for _, answer in self._policy.tables[name].rows)
            case "figure":
                figure = self._policy.figures[name]
                if figure.step in ("size_of", "gap_between"):
                    return True
                if figure.step == "sum_over":
                    return self._no_less_than_nothing(Ref("field", figure.take), figure.over)
                return figure.step != "difference_of" and self.positive(figure.refs, figure.each)
            case _:
                field = KINDS[kind].fields.get(name) or KINDS[HOUSE_KEY].fields.get(name)
                return field is not None and field.hard is not None and field.hard[0] >= 0.0


def answers(old: Table, new: Table) -> bool:
    """Whether two tables are asked by the same and answer in the same unit."""
    return (new.by, new.by_unit, new.unit) == (old.by, old.by_unit, old.unit)


def _sum(slopes: Iterable[Slope]) -> Slope:
    """Of a number that rises with each of its parts; not known where two of them go against each other."""
    moving = {slope for slope in slopes if slope != 0}
    return 0 if not moving else moving.pop() if len(moving) == 1 else None


def _opposite(slope: Slope) -> Slope:
    return None if slope is None else 0 if slope == 0 else -1 if slope > 0 else 1
