"""Rules that widen a reading's ±: they fire before every other, on what was found."""

from collections.abc import Callable, Collection, Mapping

from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.facts import Facts, Firing, Subject
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen
from airwarrant.rules.verdict import Verdict
from airwarrant.units import convert


def widening_rules(rules: Mapping[str, Rule]) -> dict[str, Rule]:
    """Those of the rules that widen a reading's ±."""
    return {name: rule for name, rule in rules.items() if any(then.what == "doubt" for then in rule.then)}


class Widening:
    """Those rules of one policy, made ready once.

    Parameters
    ----------
    prepared : Prepared
        The policy, made ready.
    fire : callable
        Fires them, and them alone, on facts.

    Attributes
    ----------
    checks : frozenset of str
        Checks that they read.
    """

    def __init__(self, prepared: Prepared, fire: Callable[[Facts], tuple[Firing, ...]]) -> None:
        policy = self._policy = prepared.policy
        self._checks = prepared.checks
        self._fire = fire
        self._rules = widening_rules(policy.rules)
        self.checks = frozenset(
            check for rule in self._rules.values() for check, time in checks_read(rule) if time == "found"
        )

    def doubts(
        self,
        kinds: Mapping[str, tuple[Subject, ...]],
        found: Mapping[tuple[str, str, str], Verdict],
        seen: Seen | None = None,
    ) -> dict[tuple[str, str], float]:
        """Fire them; return how far each reading is widened, by (subject, field), as a percentage of the reading."""
        if not self._rules:
            return {}
        words = {key: v.word for key, v in found.items() if key[0] in self.checks}
        firings = self._fire(Facts(kinds, words))
        if seen is not None:
            seen.fired(firings)
        doubts: dict[tuple[str, str], float] = {}
        for firing in firings:
            for then in self._rules[firing.rule].then:
                if then.what == "doubt" and then.to is not None:
                    share = then.to.value if then.to.form == "quantity" else self._share(then.to.name)
                    key = (firing.subject, then.name)
                    doubts[key] = max(share, doubts.get(key, 0.0))
        return doubts

    def widened_by(self, readings: Collection[str]) -> frozenset[tuple[str, str]]:
        """Readings, by (kind, field), that a rule may widen for a verdict that rests on one of `readings`."""
        of = {name for name, plan in self._checks.items() if not plan.fields.isdisjoint(readings)}
        return frozenset(
            (rule.each, then.name)
            for rule in self._rules.values()
            if any(check in of for check, _ in checks_read(rule))
            for then in rule.then
        )

    def _share(self, name: str) -> float:
        parameter = self._policy.parameters[name]
        return convert(float(parameter.value), parameter.unit, "%")
