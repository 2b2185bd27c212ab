"""What would have to be otherwise for a line to stand: words of the record and verdicts, reasoned back from the line over the rules.

Each way is a set of demands, most often one or two. It is exact for one pass of the rules as they stand, and a guess beyond: who
uses a way evaluates the whole job again before saying anything.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import reduce

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    Words,
)
from airwarrant.policy.model import WhereClause as Where
from airwarrant.rules.facts import Atom, Facts, Subject, place_of
from airwarrant.rules.reference import equal, fires, holds, key_of, matches, meets
from airwarrant.run import Run
from airwarrant.scope.settle import speaks_of
from airwarrant.scope.votes import Vote

#: ``("verdict", check, time, key)`` or ``("word", key, field)``
Asked = tuple[str, ...]
#: What must be one of which words.
Way = Mapping[Asked, frozenset[str]]
Ways = tuple[Way, ...]
_VERDICTS = frozenset({"pass", "fail", "close"})
#: Bounds of the search: demands of one way, and ways kept of one question.
MOST_DEMANDS = 4
MOST_WAYS = 200
_NOTHING: Way = {}


class Reasoner:
    """Reasons back over the rules of one evaluated job."""

    def __init__(self, run: Run, facts: Facts) -> None:
        self._run = run
        self._rules = run.policy.rules
        self._facts = facts
        self._atoms = run.outcome.atoms
        self._makers: dict[Atom, list[tuple[Rule, Subject]]] = {}
        for rule in self._rules.values():
            for subject in facts.of(rule.each):
                for then in rule.then:
                    if then.what in ("finding", "line"):
                        atom = Atom(
                            "finding" if then.what == "finding" else "line", then.name, place_of(subject, then.at)
                        )
                        self._makers.setdefault(atom, []).append((rule, subject))
        self._under_way: set[tuple[str, str, str]] = set()
        self._known: dict[tuple[str, str, str], Ways] = {}
        self._cut = 0

    def proposers(self, task: str, place: str) -> list[tuple[Rule, Subject]]:
        """Every rule with the subject for which it could ask for the line, whether or not it speaks of that subject."""
        return self._makers.get(Atom("line", task, place), [])

    def line(self, task: str, place: str) -> Ways:
        """Ways to have a line stand: something asks for it, nothing as strict is against it, and what it needs is there."""
        found = [way for rule, subject in self.proposers(task, place) for way in self._by(rule, subject, task, place)]
        return _best(found)

    def _by(self, rule: Rule, subject: Subject, task: str, place: str) -> Ways:
        """Ways by one rule: it fires, and every decline and hold as strict as it is gone or lifted."""
        authority = Vote(rule.name, subject.key, subject.kind, place, rule.authority, rule.then[0], 1).rank
        ways = self.fire(rule, subject)
        for vote in self.against(task, place):
            if vote.rank <= authority:
                gone = self.unfire(self._rules[vote.rule], self._run.subjects[vote.subject])
                ways = _and(ways, _best([*gone, *self._lifts(vote, task, place)]))
        for need in self._run.policy.tasks[task].needs:
            ways = _and(ways, self._needed(need.task, need.while_finding))
        return ways

    def against(self, task: str, place: str) -> tuple[Vote, ...]:
        """Declines and holds that speak of a line and nothing lifts."""
        subjects, tasks = self._run.subjects, self._run.policy.tasks
        line = self._run.settled.lines.get(f"{task}@{place}")
        lifted = {vote.then.name for vote in line.lifted} if line else set()
        return tuple(
            vote
            for vote in self._run.votes
            if vote.then.what in ("decline", "hold")
            and not (vote.then.named and vote.then.named in lifted)
            and speaks_of(vote.then.name, vote, task, subjects[place], tasks)
        )

    def _lifts(self, hold: Vote, task: str, place: str) -> Iterator[Way]:
        for rule in self._rules.values():
            for then in rule.then:
                if then.what == "lift" and then.for_ == task and hold.then.named and then.name == hold.then.named:
                    for subject in self._facts.of(rule.each):
                        if subject.kind != self._run.subjects[place].kind or subject.key == place:
                            yield from self.fire(rule, subject)

    def _needed(self, task: str, finding: str) -> Ways:
        if not any(atom.what == "finding" and atom.name == finding for atom in self._atoms):
            return (_NOTHING,)
        if any(line.task == task for line in self._run.settled.active()):
            return (_NOTHING,)
        there = [atom for atom in self._makers if (atom.what, atom.name) == ("line", task)]
        asked = [way for atom in there for way in self._guarded("line", task, atom.key, self.line)]
        gone = _all(self._absent(atom) for atom in self._atoms if (atom.what, atom.name) == ("finding", finding))
        return _best([*asked, *gone])

    # -------------------------------------------------------------- a rule

    def fire(self, rule: Rule, subject: Subject) -> Ways:
        """Ways to have a rule fire."""
        return self._guarded("fire", rule.name, subject.key, lambda *_: self._fire(rule, subject))

    def unfire(self, rule: Rule, subject: Subject) -> Ways:
        """Ways to keep a rule from firing."""
        return self._guarded("unfire", rule.name, subject.key, lambda *_: self._unfire(rule, subject))

    def _fire(self, rule: Rule, subject: Subject) -> Ways:
        parts = [self._words(subject, rule.where)]
        parts += [self._true(clause, subject) for clause in rule.when]
        if rule.any:
            parts.append(_best([way for clause in rule.any for way in self._true(clause, subject)]))
        parts += [self._false(clause, subject) for clause in rule.unless]
        return _all(parts)

    def _unfire(self, rule: Rule, subject: Subject) -> Ways:
        if not fires(rule, subject, self._facts, self._atoms, self._atoms):
            return (_NOTHING,)
        ways = [*self._other_words(subject, rule.where)]
        for clause in rule.when:
            ways += self._false(clause, subject)
        if rule.any:
            ways += _all(self._false(clause, subject) for clause in rule.any)
        for clause in rule.unless:
            ways += self._true(clause, subject)
        return _best(ways)

    # -------------------------------------------------------------- a clause

    def _true(self, clause: Clause, subject: Subject) -> Ways:
        if holds(clause, subject, self._facts, self._atoms, self._atoms):
            return (_NOTHING,)
        match clause:
            case Where(where):
                return self._words(subject, where)
            case CheckClause(check, words, time, target):
                key = key_of(subject, target)
                return self._verdict(check, time, key, frozenset(words)) if key else ()
            case FindingClause(finding, target):
                key = key_of(subject, target)
                return self._present(Atom("finding", finding, key)) if key else ()
            case LineClause(task, target):
                key = key_of(subject, target)
                return self._present(Atom("line", task, key)) if key else ()
            case CarriedClause(task):
                places = [atom.key for atom in self._makers if (atom.what, atom.name) == ("line", task)]
                return _best([way for key in places for way in self._guarded("line", task, key, self.line)])
            case FactClause(kind, same, where):
                there = [it for it in self._facts.of(kind) if equal(it, subject, same)]
                return _best([way for it in there for way in self._words(it, where)])
            case ManyClause():
                return self._many(clause, wanted=True)

    def _false(self, clause: Clause, subject: Subject) -> Ways:
        if not holds(clause, subject, self._facts, self._atoms, self._atoms):
            return (_NOTHING,)
        match clause:
            case Where(where):
                return self._other_words(subject, where)
            case CheckClause(check, words, time, target):
                key = key_of(subject, target)
                return self._verdict(check, time, key, _VERDICTS - frozenset(words)) if key else ()
            case FindingClause(finding, target):
                key = key_of(subject, target)
                return self._absent(Atom("finding", finding, key)) if key else ()
            case LineClause(task, target):
                key = key_of(subject, target)
                return self._absent(Atom("line", task, key)) if key else ()
            case CarriedClause(task):
                return _all(self._absent(atom) for atom in self._atoms if (atom.what, atom.name) == ("line", task))
            case FactClause(kind, same, where):
                there = [it for it in self._facts.of(kind) if equal(it, subject, same) and matches(it, where)]
                return _all(self._other_words(it, where) for it in there)
            case ManyClause():
                return self._many(clause, wanted=False)

    def _many(self, clause: ManyClause, *, wanted: bool) -> Ways:
        """Ways for a clause over a kind: one more that meets it, or none left that does, as its word asks."""
        if clause.quantifier == "every":
            one, wanted = False, not wanted  # `every` fails by one that does not meet it
        else:
            one, wanted = True, wanted == (clause.quantifier == "some")
        asked = [it for it in self._facts.of(clause.kind) if matches(it, clause.where)]
        deciding = [it for it in asked if meets(clause, it, self._facts, self._atoms) == one]
        test = self._meets if one else self._misses
        if wanted:
            ways = [way for it in asked for way in test(clause, it)]
            for it in self._facts.of(clause.kind):
                if it not in asked:
                    ways += _and(self._words(it, clause.where), test(clause, it))
            return _best(ways)
        undone = self._misses if one else self._meets
        return _all(_best([*undone(clause, it), *self._other_words(it, clause.where)]) for it in deciding)

    def _meets(self, clause: ManyClause, it: Subject) -> Ways:
        if clause.check:
            return self._verdict(clause.check, clause.time, it.key, frozenset(clause.is_))
        if clause.finding:
            return self._present(Atom("finding", clause.finding, it.key))
        return self._present(Atom("line", clause.line, it.key)) if clause.line else (_NOTHING,)

    def _misses(self, clause: ManyClause, it: Subject) -> Ways:
        if clause.check:
            return self._verdict(clause.check, clause.time, it.key, _VERDICTS - frozenset(clause.is_))
        if clause.finding:
            return self._absent(Atom("finding", clause.finding, it.key))
        return self._absent(Atom("line", clause.line, it.key)) if clause.line else ()

    # -------------------------------------------------------------- what clauses read

    def _present(self, atom: Atom) -> Ways:
        if atom in self._atoms:
            return (_NOTHING,)
        return _best([way for rule, subject in self._makers.get(atom, ()) for way in self.fire(rule, subject)])

    def _absent(self, atom: Atom) -> Ways:
        if atom not in self._atoms:
            return (_NOTHING,)
        return _all(self.unfire(rule, subject) for rule, subject in self._makers.get(atom, ()))

    def _verdict(self, check: str, time: str, key: str, words: frozenset[str]) -> Ways:
        if self._facts.verdict(check, time, key) in words:
            return (_NOTHING,)
        words &= _VERDICTS
        return ({("verdict", check, time, key): words},) if words else ()

    def _words(self, subject: Subject, where: Words) -> Ways:
        ways: Ways = (_NOTHING,)
        for field, words in where:
            if subject.word(field) not in words:
                known = frozenset(words) - {UNKNOWN}
                ways = _and(ways, ({("word", subject.key, field): known},) if known else ())
        return ways

    def _other_words(self, subject: Subject, where: Words) -> Ways:
        kind = KINDS[HOUSE_KEY if subject.key == HOUSE_KEY else subject.kind]
        ways: list[Way] = []
        for field, words in where:
            others = frozenset(kind.fields[field].words) - frozenset(words) - {UNKNOWN}
            if others:
                ways.append({("word", subject.key, field): others})
        return _best(ways)

    def _guarded(self, what: str, name: str, key: str, ask: Callable[[str, str], Ways]) -> Ways:
        """Answer once; a question that leads back to itself has no answer on that path."""
        asked = (what, name, key)
        if asked in self._known:
            return self._known[asked]
        if asked in self._under_way:
            self._cut += 1
            return ()
        self._under_way.add(asked)
        before = self._cut
        found = ask(name, key)
        self._under_way.discard(asked)
        if self._cut == before or not self._under_way:  # an answer that was cut short is not the whole answer elsewhere
            self._known[asked] = found
        return found


def _and(one: Iterable[Way], other: Iterable[Way]) -> Ways:
    """Every way of both together; demands on one thing must have a word in common."""
    other = tuple(other)
    both = []
    for a in one:
        for b in other:
            way = dict(a)
            for asked, words in b.items():
                way[asked] = way.get(asked, words) & words
            if len(way) <= MOST_DEMANDS and all(way.values()):
                both.append(way)
    return _best(both)


def _all(parts: Iterable[Ways]) -> Ways:
    start: Ways = (_NOTHING,)
    return reduce(_and, parts, start)


def _best(ways: Iterable[Way]) -> Ways:
    """The ways that ask for least, each once."""
    once = {tuple(sorted((asked, tuple(sorted(words))) for asked, words in way.items())): way for way in ways}
    return tuple(once[key] for key in sorted(once, key=lambda key: (len(key), key))[:MOST_WAYS])
