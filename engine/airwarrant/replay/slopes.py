"""Which way a number of a policy goes as one value below it rises."""

from collections.abc import Iterable
from typing import Literal

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import Check, Figure, Limit, Policy, Ref, Table
from airwarrant.policy.rests_on import Key, below, key_of, percent

#: How a number moves as a value below it rises; None where that is not known.
Slope = Literal[-1, 0, 1] | None


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
