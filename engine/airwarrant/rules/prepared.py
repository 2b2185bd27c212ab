"""What judging looks up in a policy, made ready once for all jobs."""

from functools import cached_property

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.fields import EXPECTED
from airwarrant.policy.access import Read, parameter_read, table_read
from airwarrant.policy.model import Policy, Ref, Table
from airwarrant.policy.steering import PLUS_MINUS
from airwarrant.rules.plans import Plans
from airwarrant.units import convert

BAND_FACTOR = "band_factor"


class Prepared:
    """A policy made ready for judging.

    Attributes
    ----------
    policy : Policy
    usual : mapping of reading to (float, Table, reads)
        The ± of a reading whose record gives none, the table it comes from, and what is read for it.
    band_factor : float
    plans : Plans
    checks : mapping of str to CheckPlan
        In the policy's order.
    """

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        tables = [table for name, table in policy.tables.items() if name.startswith(PLUS_MINUS)]
        self.usual: dict[float | str, tuple[float, Table, tuple[Read, ...]]] = {}
        for table in tables:
            for key, _ in table.rows:
                row, read = table_read(policy, table.name, key)
                if row is not None:
                    self.usual[key] = (row[0], table, (read,))
        factor, _ = parameter_read(policy, BAND_FACTOR)
        self.band_factor = convert(float(factor.value), factor.unit, "1")
        self.plans = Plans(policy)
        self._apart: dict[frozenset[str], frozenset[str]] = {}
        self.checks = {name: self.plans.check(check) for name, check in policy.checks.items()}

    def apart_from(self, fields: frozenset[str]) -> frozenset[str]:
        """Checks that rest on none of these readings and numbers."""
        if fields not in self._apart:
            checks = self.checks.items()
            self._apart[fields] = frozenset(name for name, plan in checks if fields.isdisjoint(plan.fields))
        return self._apart[fields]

    def plain_checks(self) -> frozenset[str]:
        """Checks that rest on plain numbers of the record alone, such as sizes: they need no prediction to be judged."""
        checks = self.policy.checks.items()
        return frozenset(name for name, check in checks if self._plain(check.reading.name, check.each))

    @cached_property
    def expecting(self) -> frozenset[str]:
        """Checks whose limit is what was predicted: they hold a test-out against the prediction."""
        checks = self.policy.checks.items()
        return frozenset(name for name, check in checks if any(self._expects(limit.of.name) for limit in check.limits))

    def _expects(self, name: str) -> bool:
        figure = self.policy.figures.get(name)
        refs = figure.refs if figure is not None else ()
        return name.startswith(EXPECTED) or any(self._expects(ref.name) for ref in refs)

    def _plain(self, name: str, kind: str) -> bool:
        figure = self.policy.figures.get(name)
        if name in KINDS[kind].fields or figure is None:
            field = KINDS[kind].fields.get(name) or KINDS[HOUSE_KEY].fields.get(name)
            return field is not None and field.form == "number"
        if figure.step == "sum_over":
            return self._plain(figure.take, figure.over)
        return all(_constant(ref) or self._plain(ref.name, figure.each) for ref in figure.refs)


def _constant(ref: Ref) -> bool:
    return ref.form in ("parameter", "table", "quantity")
