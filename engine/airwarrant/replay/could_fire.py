"""Whether a rule that is new, or reads otherwise, could have fired on what an evaluation came by: its necessary clauses, one by one."""

from collections.abc import Callable

import numpy as np

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import CheckClause, Clause, FindingClause, LineClause, ManyClause, Policy, Rule
from airwarrant.replay.facts import Facts
from airwarrant.replay.impact import Touched, bits, words
from airwarrant.replay.layout import Layout, word_bit


def could_fire(rule: Rule, a: Policy, b: Policy, layout: Layout) -> Callable[[Facts], Touched]:
    """Return a test that leaves out a job only where the rule cannot fire in any round of it.

    A clause that says that something is there needs it to have been there in some round, at some subject; what says that
    something is not there is taken to hold. A word of a check that changed with the policy is taken to be any.
    """

    def test(facts: Facts) -> Touched:
        out = bits(facts, layout, [("kind", rule.each)])
        for clause in rule.when:
            out &= _may_hold(clause, facts, a, b, layout)
        if rule.any:
            some = np.zeros(len(facts), bool)
            for clause in rule.any:
                some |= _may_hold(clause, facts, a, b, layout)
            out &= some
        return out

    return test


def needs_text(rule: Rule) -> str:
    """Say what a rule needs at least, as far as it is followed, as the end of a sentence; of a house, which is always there, nothing."""
    needs = [said for clause in rule.when if (said := _said(clause))]
    if not needs and rule.each == HOUSE_KEY:
        return ""
    return f": it needs {' and '.join(needs) or f'a {rule.each} in the record'}"


def _may_hold(clause: Clause, facts: Facts, a: Policy, b: Policy, layout: Layout) -> Touched:
    everywhere = np.ones(len(facts), bool)
    match clause:
        case CheckClause():
            return _word(clause.check, clause.time, clause.is_, facts, a, b, layout)
        case FindingClause():
            return bits(facts, layout, [("finding", clause.finding)])
        case LineClause():
            return bits(facts, layout, [("line", clause.task)])
        case ManyClause(quantifier="some"):
            there = bits(facts, layout, [("kind", clause.kind)])
            if clause.check:
                return there & _word(clause.check, clause.time, clause.is_, facts, a, b, layout)
            if clause.finding:
                return there & bits(facts, layout, [("finding", clause.finding)])
            return there & bits(facts, layout, [("line", clause.line)]) if clause.line else there
        case _:
            return everywhere


def _word(check: str, time: str, given: tuple[str, ...], facts: Facts, a: Policy, b: Policy, layout: Layout) -> Touched:
    # A check without a verdict counts as unmeasured; one that is new or changed may say anything.
    if "unmeasured" in given or not same_meaning(a.checks.get(check), b.checks.get(check)):
        return np.ones(len(facts), bool)
    return words(facts, layout, check, [word_bit(time, word) for word in given])


def _said(clause: Clause) -> str:
    match clause:
        case CheckClause() if "unmeasured" not in clause.is_:
            return f"`{clause.check}` {clause.time} to say {' or '.join(clause.is_)}"
        case FindingClause():
            return f"the finding `{clause.finding}`"
        case LineClause():
            return f"a line of `{clause.task}`"
        case ManyClause(quantifier="some"):
            return f"some {clause.kind}"
        case _:
            return ""
