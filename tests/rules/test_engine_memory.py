"""Asked again in a later round, the engine says what it says when it is asked everything anew."""

from dataclasses import replace
from random import Random

from comparing import REFUSED
from strategies import VERDICTS, random_facts, random_rules

from airwarrant.errors import PolicyError
from airwarrant.policy.model import CarriedClause
from airwarrant.rules.clauses import checks_read, clauses_of
from airwarrant.rules.engine import Engine, Memory
from airwarrant.rules.facts import Facts


def test_what_was_answered_before_changes_no_later_round() -> None:
    compared = differing = 0
    for seed in range(250):
        random = Random(seed)
        rules, facts = random_rules(random), random_facts(random)
        try:
            engine = Engine(rules)
        except PolicyError as error:
            assert {fault.code for fault in error.faults} <= REFUSED
            continue
        asked = sorted({check for one in rules.values() for check in checks_read(one)}) or [("flow", "found")]
        keys = [subject.key for held in facts.subjects.values() for subject in held]
        tasks = sorted(
            {
                clause.task
                for one in rules.values()
                for _, _, clause in clauses_of(one)
                if isinstance(clause, CarriedClause)
            }
        )
        with engine:
            memory, first = Memory(), engine.run(facts)
            rounds: list[Facts] = [facts]
            for _ in range(3):
                words = {(*random.choice(asked), random.choice(keys)): random.choice(VERDICTS) for _ in range(30)}
                carried = frozenset(task for task in tasks if random.random() < 0.5)
                rounds.append(replace(rounds[-1], verdicts={**rounds[-1].verdicts, **words}, carried=carried))
            rounds.append(replace(rounds[-1], carried=frozenset(tasks)))
            one_more = {(*random.choice(asked), random.choice(keys)): random.choice(VERDICTS)}
            rounds.append(replace(rounds[-1], verdicts={**rounds[-1].verdicts, **one_more}))
            for one in (*rounds, facts):
                anew = engine.run(one)
                assert engine.run(one, memory) == anew
                compared += 1
                differing += anew.firings != first.firings
    assert compared > 300
    assert differing > 30, differing
