"""Rules that fire in no job at all, and the layer that made them so."""

from collections.abc import Iterator
from dataclasses import replace

from airwarrant.desks.analysis.fires import Example, Fires, Known
from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.compose import compose_sources
from airwarrant.policy.files import Sources
from airwarrant.policy.model import Policy, Rule
from airwarrant.source.place import Place


def unreachable(policy: Policy, fires: Fires, sources: Sources | None = None) -> Iterator[Fault]:
    """Yield an error for each rule that no job makes fire.

    Parameters
    ----------
    policy : Policy
    fires : Fires
        Asks this policy.
    sources : Sources, optional
        The files it was composed from: with them a layer that made an earlier rule unreachable is named.
    """
    dead = [rule for rule in policy.rules.values() if fires.never(rule)]
    before = _Before(sources) if sources is not None else None
    for rule in dead:
        if before is not None and (killed := before.killed_by(rule)) is not None:
            layer, job = killed
            found = (
                f"rule `{rule.name}` fires in no job since layer `{layer}` is laid over `{rule.layer}`; before, it did"
            )
            before_it = f"Before, it fired in this job: {'; '.join(job) or 'every job'}."
            advice = f"{before_it} If that is meant, take the rule out in `{layer}` with a [[remove]] and a reason."
            yield Fault(
                "unreachable-by-layer",
                found,
                "a rule that some job makes fire",
                _latest(rule, layer),
                rule.name,
                advice,
            )
            continue
        found = f"rule `{rule.name}` fires in no job: what it needs excludes itself, or nothing concludes it"
        advice = "Look at its words and checks together, and at every finding that it reads."
        yield Fault("unreachable-rule", found, "a rule that some job makes fire", rule.place, rule.name, advice)


def _latest(rule: Rule, layer: str) -> Place:
    """Where a layer changed a rule, else where the rule stands."""
    places = [key.place for key in rule.keys.values() if key.layer == layer]
    return min(places) if places else rule.place


class _Before:
    """The policy of a market with its later layers taken away, one after the other."""

    def __init__(self, sources: Sources) -> None:
        self._sources = sources
        self._layers = tuple(dict.fromkeys(file.layer for file in sources.files))
        self._kept: dict[int, Fires | None] = {}
        self._policies: dict[int, Policy] = {}
        self._known = Known()

    def killed_by(self, rule: Rule) -> tuple[str, Example] | None:
        """Return the first layer with which a rule fires in no job, and the smallest job in which it did without."""
        for count in range(len(self._layers) - 1, 0, -1):
            fires = self._fires(count)
            earlier = self._policies[count].rules.get(rule.name) if fires is not None else None
            if fires is None or earlier is None:
                return None
            if (picture := fires.example(earlier)) is not None:
                return self._layers[count], fires.said(picture, earlier)
        return None

    def _fires(self, count: int) -> Fires | None:
        if count not in self._kept:
            layers = self._layers[:count]
            files = tuple(file for file in self._sources.files if file.layer in layers)
            try:
                self._policies[count] = compose_sources(replace(self._sources, files=files))
                self._kept[count] = Fires(self._policies[count], self._known)
            except PolicyError:  # what a later layer cures is no fault of the whole
                self._kept[count] = None
        return self._kept[count]
