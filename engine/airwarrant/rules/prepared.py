"""What judging looks up in a policy, made ready once for all jobs."""

from collections.abc import Mapping
from functools import cached_property

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.fields import EXPECTED
from airwarrant.policy.model import Figure, Policy, Ref
from airwarrant.rules.numbers import Number
from airwarrant.units import convert

BAND_FACTOR = "band_factor"


class Prepared:
    """A policy made ready for judging.

    Attributes
    ----------
    policy : Policy
    usual : mapping of reading to str
        The table that gives its ± where the record gives none.
    parameters : mapping of str to Number
    band_factor : float
    standings : mapping of (kind, name) to (bool, bool)
        Whether a name that a check of `kind` reads is a figure, and whether the subject has it itself, and not the house.
    quantities : mapping of (value, unit) to Number
        Of what rules and figures write out as a number.
    """

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        self.usual: Mapping[float | str, str] = {
            row[0]: name
            for name, table in policy.tables.items()
            if name.startswith("plus_minus_")
            for row in table.rows
        }
        self.parameters = {
            name: Number("parameter", name, float(one.value), one.unit)
            for name, one in policy.parameters.items()
            if not isinstance(one.value, str)
        }
        self.band_factor = convert(self.parameters[BAND_FACTOR].value, self.parameters[BAND_FACTOR].unit, "1")
        self.standings = _Standings(policy.figures)
        self.quantities = _Quantities()

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


class _Standings(dict[tuple[str, str], tuple[bool, bool]]):
    """Filled as it is asked."""

    def __init__(self, figures: Mapping[str, Figure]) -> None:
        super().__init__()
        self._figures = figures

    def __missing__(self, asked: tuple[str, str]) -> tuple[bool, bool]:
        kind, name = asked
        own = name in KINDS[kind].fields
        figure = None if own else self._figures.get(name)
        # A room's limit may stand on a figure of the house.
        self[asked] = found = (figure is not None, figure.each == kind if figure else own)
        return found


class _Quantities(dict[tuple[float, str], Number]):
    """Filled as it is asked: there are as many as the policy writes."""

    def __missing__(self, asked: tuple[float, str]) -> Number:
        value, unit = asked
        self[asked] = made = Number("quantity", f"{value:g} {unit}", value, unit)
        return made


def _constant(ref: Ref) -> bool:
    return ref.form in ("parameter", "table", "quantity")
