"""Small policies at random, and the same policies said in logic for an SMT solver."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import Any

import z3

from airwarrant.policy.model import (
    CarriedClause,
    Check,
    CheckClause,
    Clause,
    FindingClause,
    Limit,
    ManyClause,
    Policy,
    Ref,
    Rule,
    Task,
    Then,
    WhereClause,
)
from airwarrant.source.place import Place

VERDICTS = ("pass", "fail", "close", "unmeasured")
#: More rooms than the rules of one policy tell apart.
ROOMS = 6
#: Two limits of one reading: it cannot be under the lower and over the higher.
LIMITS = {"low-static": ("house", "external_static", 0.3), "high-static": ("house", "external_static", 0.6)}
CHECKS = {"house": ("low-static", "high-static", "flow"), "room": ("door",)}
TASK = Task("seal", Place("t.toml", 1, 1), "trade", {}, title="Seal", groups=("sealing",))
LINE = Then("line", "seal", tier="optional")
DECLINE = Then("decline", "task:seal", text="no")


def random_policy(base: Policy, random: Random, field: str = "damper_access") -> Policy:
    """A policy of four to seven rules: the first conclude findings, the later may read them; a few ask for work or decline it."""
    rules: list[Rule] = []
    found: dict[str, list[str]] = {"house": [], "room": []}
    for number in range(random.randint(4, 7)):
        each = random.choice(("house", "house", "room"))
        parts: dict[str, list[Clause]] = {"when": [], "any": [], "unless": []}
        for _ in range(random.randint(1, 3)):
            part = random.choice(("when", "when", "unless"))
            parts[part].append(_clause(random, each, found, field))
        if random.random() < 0.2:
            parts["any"] = [_clause(random, each, found, field) for _ in range(2)]
        if number < 3:
            then = Then("finding", f"f{number}")
            found[each].append(then.name)
        else:
            then = random.choice((LINE, DECLINE))
        where = ((field if each == "room" else "pests", tuple(sorted(random.sample(("yes", "no", "unknown"), 2)))),)
        rules.append(
            Rule(
                f"r{number}", Place("r.toml", number + 1, 1), "trade", {}, title="R", stage="scope",
                authority=random.choice(("practice", "code")), each=each, where=where if random.random() < 0.3 else (),
                when=tuple(parts["when"]), any=tuple(parts["any"]), unless=tuple(parts["unless"]), then=(then,),
            )
        )  # fmt: skip
    checks = {
        name: Check(
            name, Place("c.toml", 1, 1), "trade", {}, title=name, each=each, reading=Ref("field", reading), must_be="at most",
            limits=(Limit(Ref("quantity", "", limit, "in. w.c.")),), choose="limit",
        )
        for name, (each, reading, limit) in LIMITS.items()
    }  # fmt: skip
    return replace(base, rules={rule.name: rule for rule in rules}, tasks={"seal": TASK}, checks=checks, figures={})


def _clause(random: Random, each: str, found: Mapping[str, Sequence[str]], field: str) -> Clause:
    findings = [(name, "own") for name in found[each]]
    if each == "room":
        findings += [(name, "house") for name in found["house"]]
    form = random.choice(("where", "check", "check", "finding", "finding", "many", "carried"))
    if form == "finding" and findings:
        return FindingClause(*random.choice(findings))
    if form == "many":
        quantifier = random.choice(("some", "every", "none"))
        where = ((field, (random.choice(("yes", "no", "unknown")),)),) if random.random() < 0.4 else ()
        test = random.choice(("check", "finding", ""))
        if test == "check":
            return ManyClause(quantifier, "room", where, "door", _verdicts(random))
        if test == "finding" and found["room"]:
            return ManyClause(quantifier, "room", where, finding=random.choice(found["room"]))
        return ManyClause(quantifier, "room", where)
    if form == "carried" and random.random() < 0.3:
        return CarriedClause("seal")
    if form == "where":
        name = field if each == "room" else random.choice(("lead_paint", "pests"))
        return WhereClause(((name, tuple(sorted(random.sample(("yes", "no", "unknown"), random.randint(1, 2))))),))
    check = random.choice((*CHECKS[each], *(CHECKS["house"] if each == "room" else ())))
    target = "own" if check in CHECKS[each] else "house"
    return CheckClause(check, _verdicts(random), "found", target)


def _verdicts(random: Random) -> Any:
    return tuple(sorted(random.sample(VERDICTS, random.randint(1, 2))))


class Logic:
    """A random policy in logic: words and verdicts are numbers, a finding holds just where a rule that concludes it fires."""

    def __init__(self, policy: Policy) -> None:
        self.solver = z3.Solver()
        self._words: dict[tuple[str, str], Any] = {}
        self._verdicts: dict[tuple[str, str], Any] = {}
        self._there = [z3.Bool(f"there-{i}") for i in range(ROOMS)]
        self._carried: dict[str, Any] = {}
        self._found: dict[tuple[str, str], Any] = {}
        self._reading = z3.Real("external_static")
        self.fires: dict[tuple[str, str], Any] = {}
        for rule in policy.rules.values():
            for key in self._keys(rule.each):
                self.fires[rule.name, key] = z3.And(self._is_there(key), self._fires(rule, key))
            for then in rule.then:
                if then.what == "finding":
                    for key in self._keys(rule.each):
                        self._found[then.name, key] = self.fires[rule.name, key]

    def possible(self, *facts: Any) -> bool:
        """Whether some job has all of these facts."""
        return bool(self.solver.check(*facts) == z3.sat)

    def any_of(self, rule: Rule) -> Any:
        return z3.Or([self.fires[rule.name, key] for key in self._keys(rule.each)])

    def both(self, one: Rule, other: Rule) -> Any:
        """Both fire: for one thing where they are of one kind, else anywhere, for a decline of the house speaks of all."""
        if one.each == other.each:
            return z3.Or([z3.And(self.fires[one.name, k], self.fires[other.name, k]) for k in self._keys(one.each)])
        return z3.And(self.any_of(one), self.any_of(other))

    def without(self, one: Rule, other: Rule) -> Any:
        """One fires for a thing, and the other of the same kind does not."""
        fires = self.fires
        return z3.Or([z3.And(fires[one.name, k], z3.Not(fires[other.name, k])) for k in self._keys(one.each)])

    def _keys(self, kind: str) -> tuple[str, ...]:
        return ("house",) if kind == "house" else tuple(f"room-{i}" for i in range(ROOMS))

    def _is_there(self, key: str) -> Any:
        return z3.BoolVal(True) if key == "house" else self._there[int(key.rpartition("-")[2])]

    def _fires(self, rule: Rule, key: str) -> Any:
        parts = [self._where(rule.where, key)]
        parts += [self._clause(clause, key) for clause in rule.when]
        parts += [z3.Not(self._clause(clause, key)) for clause in rule.unless]
        if rule.any:
            parts.append(z3.Or([self._clause(clause, key) for clause in rule.any]))
        return z3.And(parts)

    def _where(self, where: Any, key: str) -> Any:
        return z3.And([self._word(key, name, words) for name, words in where] or [z3.BoolVal(True)])

    def _word(self, key: str, name: str, words: Sequence[str]) -> Any:
        known = ("yes", "no", "unknown")
        if (key, name) not in self._words:
            self._words[key, name] = one = z3.Int(f"{key}.{name}")
            self.solver.add(one >= 0, one < len(known))
        return z3.Or([self._words[key, name] == known.index(word) for word in words])

    def _verdict(self, key: str, check: str, words: Sequence[str]) -> Any:
        if (key, check) not in self._verdicts:
            self._verdicts[key, check] = one = z3.Int(f"{key}:{check}")
            self.solver.add(one >= 0, one < len(VERDICTS))
            if check in LIMITS:
                limit = LIMITS[check][2]
                self.solver.add(
                    z3.Implies(one == 0, self._reading <= limit), z3.Implies(one == 1, self._reading > limit)
                )
        return z3.Or([self._verdicts[key, check] == VERDICTS.index(word) for word in words])

    def _clause(self, clause: Clause, key: str) -> Any:
        match clause:
            case WhereClause(where):
                return self._where(where, key)
            case CheckClause(check, words, _, target):
                return self._verdict("house" if target == "house" else key, check, words)
            case FindingClause(finding, target):
                return self._found[finding, "house" if target == "house" else key]
            case CarriedClause(task):
                return self._carried.setdefault(task, z3.Bool(f"carried-{task}"))
            case ManyClause():
                return self._many(clause)
            case _:
                raise AssertionError(clause)

    def _many(self, clause: ManyClause) -> Any:
        asked, meets = [], []
        for key in self._keys("room"):
            asked.append(z3.And(self._is_there(key), self._where(clause.where, key)))
            if clause.check:
                meets.append(self._verdict(key, clause.check, clause.is_))
            else:
                meets.append(self._found[clause.finding, key] if clause.finding else z3.BoolVal(True))
        pairs = list(zip(asked, meets, strict=True))
        if clause.quantifier == "every":
            return z3.And([z3.Implies(one, met) for one, met in pairs])
        some = z3.Or([z3.And(one, met) for one, met in pairs])
        return some if clause.quantifier == "some" else z3.Not(some)
