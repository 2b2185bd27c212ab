"""The same rules written for CLIPS: a third, independent engine to compare answers and times with."""

import json
from collections.abc import Iterable, Iterator, Mapping
from itertools import count

import clips

from airwarrant.job.dictionary import UNKNOWN
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    WhereClause,
    Words,
)
from airwarrant.rules.clauses import checks_read, clauses_of
from airwarrant.rules.facts import Facts, Firing, Subject
from airwarrant.rules.strata import strata


class ClipsEngine:
    """Rules as CLIPS constructs; strata become salience."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = rules
        self._fields = _fields(rules)
        self._checks = sorted({check for rule in rules.values() for check in checks_read(rule)})
        self._environment = clips.Environment()
        build = self._environment.build
        build("(deftemplate v (slot check) (slot time) (slot key) (slot word))")
        build("(deftemplate atom (slot what) (slot name) (slot key))")
        build("(deftemplate carried (slot task))")
        build("(deftemplate fired (slot rule) (slot key))")
        for kind, fields in self._fields.items():
            build(f"(deftemplate s-{kind} (slot key) {' '.join(f'(slot f-{field})' for field in fields)})")
        for level, names in enumerate(strata(rules)):
            for name in names:
                build(_rule(name, rules[name], self._fields, -level))

    def run(self, facts: Facts) -> tuple[Firing, ...]:
        """Return the firings in order of rule and subject."""
        environment = self._environment
        environment.reset()
        for kind, fields in self._fields.items():
            for subject in facts.of(kind):
                slots = " ".join(f"(f-{field} {_text(_value(subject, field))})" for field in fields)
                environment.assert_string(f"(s-{kind} (key {_text(subject.key)}) {slots})")
        keys = [subject.key for held in facts.subjects.values() for subject in held]
        keys.extend(
            {link for held in facts.subjects.values() for one in held for link in one.links.values()} - set(keys)
        )
        for check, time in self._checks:
            for key in keys:
                word = facts.verdict(check, time, key)
                environment.assert_string(
                    f"(v (check {_text(check)}) (time {_text(time)}) (key {_text(key)}) (word {_text(word)}))"
                )
        for task in sorted(facts.carried):
            environment.assert_string(f"(carried (task {_text(task)}))")
        environment.run()
        fired = environment.find_template("fired")
        return tuple(sorted(Firing(str(fact["rule"]), str(fact["key"])) for fact in fired.facts()))


def _value(subject: Subject, field: str) -> str:
    return subject.links.get(field, subject.word(field))


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _fields(rules: Mapping[str, Rule]) -> dict[str, list[str]]:
    fields: dict[str, set[str]] = {}
    for rule in rules.values():
        mine = fields.setdefault(rule.each, set())
        mine.update(field for field, _ in rule.where)
        for _, _, clause in clauses_of(rule):
            if isinstance(clause, WhereClause):
                mine.update(field for field, _ in clause.where)
            elif isinstance(clause, (CheckClause, FindingClause, LineClause)):
                mine.update({clause.target} - {"own", "house"})
            elif isinstance(clause, (ManyClause, FactClause)):
                theirs = fields.setdefault(clause.kind, set())
                theirs.update(field for field, _ in clause.where)
                if isinstance(clause, FactClause):
                    mine.update({field for _, field in clause.same} - {"id"})
                    theirs.update({field for field, _ in clause.same} - {"id"})
        mine.update(then.at for then in rule.then if then.at)
    return {kind: sorted(names) for kind, names in sorted(fields.items())}


def _rule(name: str, rule: Rule, fields: Mapping[str, list[str]], salience: int) -> str:
    number = count()
    own = " ".join(f"(f-{field} {_bound(field, rule.where)})" for field in fields[rule.each])
    parts = [f"(s-{rule.each} (key ?key) {own})"]
    parts.extend(_element(clause, rule, number) for clause in rule.when)
    if rule.any:
        parts.append(f"(or {' '.join(_element(clause, rule, number) for clause in rule.any)})")
    parts.extend(f"(not {_element(clause, rule, number)})" for clause in rule.unless)
    actions = [f"(assert (fired (rule {_text(name)}) (key ?key)))", *_conclusions(rule)]
    return f"(defrule {name} (declare (salience {salience})) {' '.join(parts)} => {' '.join(actions)})"


def _conclusions(rule: Rule) -> Iterator[str]:
    for then in rule.then:
        if then.what in ("finding", "line"):
            own = f'(if (eq ?o-{then.at} "{UNKNOWN}") then "house" else ?o-{then.at})' if then.at else "?key"
            yield f"(bind ?place {own}) (assert (atom (what {then.what}) (name {_text(then.name)}) (key ?place)))"


def _bound(field: str, where: Words) -> str:
    words = dict(where).get(field)
    return f"?o-{field}" if words is None else f"?o-{field}&{_one_of(words)}"


def _one_of(words: Iterable[str]) -> str:
    return "|".join(_text(word) for word in words)


def _key(target: str) -> str:
    return "?key" if target == "own" else '"house"' if target == "house" else f"?o-{target}"


def _asked(kind: str, key: str, where: Words, more: str = "") -> str:
    return f"(s-{kind} (key {key}) {' '.join(f'(f-{field} {_one_of(words)})' for field, words in where)} {more})"


def _verdict(check: str, time: str, key: str, words: Iterable[str]) -> str:
    return f"(v (check {_text(check)}) (time {_text(time)}) (key {key}) (word {_one_of(words)}))"


def _atom(what: str, name: str, key: str) -> str:
    return f"(atom (what {what}) (name {_text(name)}) (key {key}))"


def _element(clause: Clause, rule: Rule, number: Iterator[int]) -> str:
    match clause:
        case WhereClause(where):
            return _asked(rule.each, "?key", where)
        case CheckClause(check, words, time, target):
            return _verdict(check, time, _key(target), words)
        case FindingClause(finding, target):
            return _atom("finding", finding, _key(target))
        case LineClause(task, target):
            return _atom("line", task, _key(target))
        case CarriedClause(task):
            return f"(carried (task {_text(task)}))"
        case FactClause():
            return _fact(clause, next(number))
        case ManyClause():
            return _many(clause, f"?m{next(number)}")


def _fact(clause: FactClause, number: int) -> str:
    """Pairs share variables of their own: one field may be asked for twice."""
    tests: list[str] = []
    slots: dict[str, str] = {}
    for its, mine in clause.same:
        slot = slots.setdefault("key" if its == "id" else f"f-{its}", f"?x{number}-{len(slots)}")
        ours = "?key" if mine == "id" else f"?o-{mine}"
        tests.append(f"(test (and (eq {slot} {ours}) (neq {slot} {_text(UNKNOWN)})))")
    key = slots.pop("key", f"?k{number}")
    wanted = dict(clause.where)
    bound = " ".join(
        f"({slot} {name}{'&' + _one_of(wanted[slot[2:]]) if slot[2:] in wanted else ''})"
        for slot, name in slots.items()
    )
    rest = tuple((field, words) for field, words in clause.where if f"f-{field}" not in slots)
    return f"(exists (and {_asked(clause.kind, key, rest, bound)} {' '.join(tests)}))"


def _many(clause: ManyClause, key: str) -> str:
    asked = _asked(clause.kind, key, clause.where)
    test = ""
    if clause.check:
        test = _verdict(clause.check, clause.time, key, clause.is_)
    elif clause.finding:
        test = _atom("finding", clause.finding, key)
    elif clause.line:
        test = _atom("line", clause.line, key)
    if clause.quantifier == "every":
        return f"(not (and {asked} (not {test})))" if test else "(test (eq 1 1))"
    found = f"(and {asked} {test})" if test else asked
    return f"(exists {found})" if clause.quantifier == "some" else f"(not {found})"
