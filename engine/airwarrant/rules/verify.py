"""Holding the engine to the reference evaluator and to the walk."""

from collections.abc import Iterable, Mapping

from airwarrant.errors import EngineFault
from airwarrant.policy.model import Rule
from airwarrant.rules.engine import Outcome
from airwarrant.rules.facts import Atom, Facts, Firing
from airwarrant.rules.reference import evaluate
from airwarrant.rules.walk import Walk

DIFFER = "evaluators-differ"


def verify(outcome: Outcome, rules: Mapping[str, Rule], facts: Facts) -> None:
    """Evaluate again with the reference evaluator.

    Raises
    ------
    EngineFault
        ``evaluators-differ``, naming the first difference.
    """
    firings, atoms = evaluate(rules, facts)
    _same_firings(outcome.firings, firings, "the reference evaluator")
    for atom in sorted(outcome.atoms ^ atoms):
        who = "only the engine" if atom in outcome.atoms else "only the reference evaluator"
        raise EngineFault(DIFFER, f"{who} concludes {_said(atom)}")


def consistent(outcome: Outcome, walked: Walk) -> None:
    """Compare the engine's firings with what the walk over all rules says fired.

    Raises
    ------
    EngineFault
        ``evaluators-differ``, naming the first difference.
    """
    _same_firings(outcome.firings, walked.fired, "the walk")


def _same_firings(engine: Iterable[Firing], others: Iterable[Firing], name: str) -> None:
    mine, theirs = frozenset(engine), frozenset(others)
    for firing in sorted(mine ^ theirs):
        who = "only the engine" if firing in mine else f"only {name}"
        raise EngineFault(DIFFER, f"{who} fires rule `{firing.rule}` at `{firing.subject}`")


def _said(atom: Atom) -> str:
    return f"{atom.what} `{atom.name}` at `{atom.key}`"
