"""Jobs in which given rules fire together: a search over words, verdicts and findings, backwards from the rules.

A job here is as rules see one: things with words and links, a word for each check, tasks scoped before. A finding or line that a
clause reads is followed to a rule that concludes it; deeper than `DEEPEST` it is taken for granted. Numbers are not looked at: two
checks of one reading may get words that no reading gives them together. What is found is a proposal, to be evaluated.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

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
    WhereClause,
    Words,
)
from airwarrant.rules.facts import Atom

#: Findings followed back from a rule, one behind the other.
DEEPEST = 5
#: Steps after which a search is given up: policies written by hand need a few dozen.
MOST_STEPS = 20_000
#: Things of one kind that a clause over a kind may bring in: first few, then as many as rules written by hand tell apart.
THINGS = (2, 4)
VERDICTS = ("pass", "fail", "close", "unmeasured")


@dataclass(frozen=True, slots=True)
class Picture:
    """What is known of the job that is looked for; what is not named is open.

    Attributes
    ----------
    kinds : mapping of key to kind
    links : mapping of (key, field) to key
    words, verdicts : mapping
        (key, field) and (check, time, key) -> the words still possible.
    carried : mapping of task to bool
    atoms : mapping
        Findings and lines that must be there, or must not.
    """

    kinds: Mapping[str, str] = field(default_factory=lambda: {HOUSE_KEY: HOUSE_KEY})
    links: Mapping[tuple[str, str], str] = field(default_factory=dict)
    words: Mapping[tuple[str, str], frozenset[str]] = field(default_factory=dict)
    verdicts: Mapping[tuple[str, str, str], frozenset[str]] = field(default_factory=dict)
    carried: Mapping[str, bool] = field(default_factory=dict)
    atoms: Mapping[Atom, bool] = field(default_factory=dict)

    def of(self, kind: str) -> tuple[str, ...]:
        return tuple(key for key, its in self.kinds.items() if its == kind)

    def fresh(self, kind: str) -> tuple["Picture", str]:
        """The picture with one more thing of a kind, and its key."""
        if kind == HOUSE_KEY:
            return self, HOUSE_KEY
        key = f"{kind}-{len(self.of(kind)) + 1}"
        return replace(self, kinds={**self.kinds, key: kind}), key

    def linked(self, key: str, name: str) -> tuple["Picture", str] | None:
        """The picture in which a link of a thing is there, and the key it names; None where it has no such link."""
        known = KINDS[self.kinds[key]].fields.get(name)
        if known is None or known.form != "link":
            return None
        if (key, name) in self.links:
            return self, self.links[key, name]
        there = self.of(known.kind)
        picture, target = (self, there[0]) if there else self.fresh(known.kind)
        return replace(picture, links={**picture.links, (key, name): target}), target

    def word(self, key: str, name: str, wanted: Iterable[str]) -> "Picture | None":
        """The picture in which a word is one of these, or None where it cannot be."""
        left = self._words(key, name) & frozenset(wanted)
        return replace(self, words={**self.words, (key, name): left}) if left else None

    def unword(self, key: str, name: str, refused: Iterable[str]) -> "Picture | None":
        """The picture in which a word is none of these."""
        return self.word(key, name, self._words(key, name) - frozenset(refused))

    def verdict(self, name: tuple[str, str, str], wanted: Iterable[str]) -> "Picture | None":
        """The picture in which a check says one of these words."""
        left = self.verdicts.get(name, frozenset(VERDICTS)) & frozenset(wanted)
        return replace(self, verdicts={**self.verdicts, name: left}) if left else None

    def _words(self, key: str, name: str) -> frozenset[str]:
        known = KINDS[self.kinds[key]].fields.get(name)
        return self.words.get((key, name), frozenset(known.words if known else ()))


@dataclass(frozen=True, slots=True)
class _Fires:
    """A rule that must fire for a thing, or must not."""

    rule: Rule
    key: str
    wanted: bool
    depth: int


@dataclass(frozen=True, slots=True)
class _Holds:
    """A clause that must hold for a thing, or must not."""

    clause: Clause
    key: str
    wanted: bool
    depth: int


@dataclass(frozen=True, slots=True)
class _All:
    """A clause over a kind that must hold of every thing of it: those after the first `seen` are still to be looked at."""

    clause: ManyClause
    wanted: bool
    depth: int
    seen: int


@dataclass(frozen=True, slots=True)
class _Stands:
    """A finding or line that must be there, or must not."""

    atom: Atom
    wanted: bool
    depth: int


_Goal = _Fires | _Holds | _All | _Stands


class Search:
    """Finds jobs in which rules of a policy fire together.

    Parameters
    ----------
    rules : mapping of name to Rule
    possible : callable, optional
        Whether words of checks can stand together; what cannot is not followed further.
    """

    def __init__(
        self,
        rules: Mapping[str, Rule],
        possible: Callable[[Mapping[tuple[str, str, str], frozenset[str]]], bool] = lambda verdicts: True,
    ) -> None:
        self._possible = possible
        self._makers: dict[tuple[str, str], list[tuple[Rule, str]]] = {}
        for rule in rules.values():
            for then in rule.then:
                if then.what in ("finding", "line"):
                    self._makers.setdefault((then.what, then.name), []).append((rule, then.at))
        self._steps = 0
        self._most = THINGS[0]
        self._cut = self._crowded = False

    @property
    def gave_up(self) -> bool:
        """Whether the search that was made last left something untried, or took something for granted."""
        return self._steps > MOST_STEPS or self._cut

    def together(
        self, picture: Picture, firing: Iterable[tuple[Rule, str]], sparing: Iterable[tuple[Rule, str]] = ()
    ) -> Iterator[Picture]:
        """Yield pictures in which each rule of `firing` fires for its thing and none of `sparing` does.

        The first has the fewest findings behind it.
        """
        goals: tuple[_Goal, ...] = tuple(_Fires(rule, key, True, 0) for rule, key in firing)
        goals += tuple(_Fires(rule, key, False, 0) for rule, key in sparing)
        self._cut = False
        for self._most in THINGS:
            self._steps, self._crowded = 0, False
            yield from self._solve(picture, goals)
            if not self._crowded:
                return

    def _solve(self, picture: Picture, goals: tuple[_Goal, ...]) -> Iterator[Picture]:
        self._steps += 1
        if self._steps > MOST_STEPS:
            return
        # What must hold of all comes last: whatever else is looked for may bring more things in.
        waiting = next((i for i, goal in enumerate(goals) if not _settled(picture, goal)), None)
        if waiting is None:
            yield picture
            return
        first = next((i for i, goal in enumerate(goals) if not isinstance(goal, _All)), waiting)
        goal, rest = goals[first], (*goals[:first], *goals[first + 1 :])
        for further, more in self._step(picture, goal):
            yield from self._solve(further, (*more, *rest))

    def _step(self, picture: Picture, goal: _Goal) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        match goal:
            case _Fires(rule, key, True, depth):
                matched = _matching(picture, key, rule.where)
                if matched is not None:
                    needed = tuple(_Holds(clause, key, True, depth) for clause in rule.when)
                    barred = tuple(_Holds(clause, key, False, depth) for clause in rule.unless)
                    for one in rule.any or (None,):
                        chosen = (_Holds(one, key, True, depth),) if one is not None else ()
                        yield matched, (*needed, *chosen, *barred)
            case _Fires(rule, key, False, depth):
                yield from self._spared(picture, rule, key, depth)
            case _Holds(clause, key, wanted, depth):
                yield from self._clause(picture, clause, key, wanted, depth)
            case _All():
                yield from self._all(picture, goal)
            case _Stands(atom, wanted, depth):
                yield from self._atom(picture, atom, wanted, depth)

    def _spared(
        self, picture: Picture, rule: Rule, key: str, depth: int
    ) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        for name, words in rule.where:
            if (other := picture.unword(key, name, words)) is not None:
                yield other, ()
        for clause in rule.when:
            yield picture, (_Holds(clause, key, False, depth),)
        if rule.any:
            yield picture, tuple(_Holds(clause, key, False, depth) for clause in rule.any)
        for clause in rule.unless:
            yield picture, (_Holds(clause, key, True, depth),)

    def _clause(
        self, picture: Picture, clause: Clause, key: str, wanted: bool, depth: int
    ) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        match clause:
            case WhereClause(where):
                for further in _wherever(picture, key, where, wanted):
                    yield further, ()
            case CheckClause(check, words, time, target):
                found = _target(picture, key, target)
                if found is not None:
                    said = words if wanted else set(VERDICTS) - set(words)
                    judged = found[0].verdict((check, time, found[1]), said)
                    yield from ((judged, ()),) if judged is not None and self._possible(judged.verdicts) else ()
            case FindingClause(name, target) | LineClause(name, target):
                what: str = "finding" if isinstance(clause, FindingClause) else "line"
                found = _target(picture, key, target)
                if found is not None:
                    yield found[0], (_Stands(_atom_of(what, name, found[1]), wanted, depth),)
            case CarriedClause(task):
                if picture.carried.get(task, wanted) is wanted:
                    yield replace(picture, carried={**picture.carried, task: wanted}), ()
            case ManyClause():
                yield from self._many(picture, clause, wanted, depth)
            case FactClause():
                yield from _fact(picture, clause, key, wanted)

    def _many(
        self, picture: Picture, clause: ManyClause, wanted: bool, depth: int
    ) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        exists = (clause.quantifier == "some") is wanted if clause.quantifier != "every" else not wanted
        test_wanted = clause.quantifier != "every"
        if exists:
            # One that meets the test; of `every` that fails, one that does not.
            for there, key in (
                *((picture, one) for one in picture.of(clause.kind)),
                *self._fresh(picture, clause.kind),
            ):
                matched = _matching(there, key, clause.where)
                if matched is not None:
                    yield from self._test(matched, clause, key, test_wanted, depth)
            return
        yield picture, (_All(clause, wanted, depth, 0),)

    def _fresh(self, picture: Picture, kind: str) -> Iterator[tuple[Picture, str]]:
        if len(picture.of(kind)) < self._most:
            yield picture.fresh(kind)
        else:
            self._crowded = True

    def _all(self, picture: Picture, goal: _All) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        """Each thing either is not asked of, or meets the test of `every`, or does not meet the one of `none`."""
        clause = goal.clause
        there = picture.of(clause.kind)
        if goal.seen == len(there):
            yield picture, (goal,)
            return
        key, later = there[goal.seen], replace(goal, seen=goal.seen + 1)
        for spared in _wherever(picture, key, clause.where, False):
            yield spared, (later,)
        matched = _matching(picture, key, clause.where)
        if matched is not None:
            for further, more in self._test(matched, clause, key, clause.quantifier == "every", goal.depth):
                yield further, (*more, later)

    def _test(
        self, picture: Picture, clause: ManyClause, key: str, wanted: bool, depth: int
    ) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        if clause.check:
            said = clause.is_ if wanted else set(VERDICTS) - set(clause.is_)
            further = picture.verdict((clause.check, clause.time, key), said)
            if further is not None and self._possible(further.verdicts):
                yield further, ()
        elif clause.finding or clause.line:
            what = "finding" if clause.finding else "line"
            yield picture, (_Stands(_atom_of(what, clause.finding or clause.line, key), wanted, depth),)
        elif wanted:
            yield picture, ()

    def _atom(
        self, picture: Picture, atom: Atom, wanted: bool, depth: int
    ) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
        if atom in picture.atoms:
            if picture.atoms[atom] is wanted:
                yield picture, ()
            return
        picture = replace(picture, atoms={**picture.atoms, atom: wanted})
        if depth >= DEEPEST:
            self._cut = True
            yield picture, ()
            return
        makers = self._makers.get((atom.what, atom.name), [])
        if not wanted:
            spared = [
                _Fires(rule, key, False, depth + 1)
                for rule, at in makers
                for key in _landing(picture, rule, at, atom.key)
            ]
            yield picture, tuple(spared)
            return
        for rule, at in makers:
            for further, key in _sources(picture, rule, at, atom.key):
                yield further, (_Fires(rule, key, True, depth + 1),)


def _settled(picture: Picture, goal: _Goal) -> bool:
    """Whether nothing is left to do for a goal: only what must hold of all stays, once it was held against each."""
    return isinstance(goal, _All) and goal.seen == len(picture.of(goal.clause.kind))


def _matching(picture: Picture, key: str, where: Words) -> Picture | None:
    now: Picture | None = picture
    for name, words in where:
        now = now.word(key, name, words) if now is not None else None
    return now


def _wherever(picture: Picture, key: str, where: Words, wanted: bool) -> Iterator[Picture]:
    if wanted:
        if (matched := _matching(picture, key, where)) is not None:
            yield matched
        return
    for name, words in where:
        if (other := picture.unword(key, name, words)) is not None:
            yield other


def _target(picture: Picture, key: str, target: str) -> tuple[Picture, str] | None:
    if target == "own":
        return picture, key
    return (picture, HOUSE_KEY) if target == "house" else picture.linked(key, target)


def _atom_of(what: str, name: str, key: str) -> Atom:
    return Atom("finding" if what == "finding" else "line", name, key)


def _landing(picture: Picture, rule: Rule, at: str, key: str) -> tuple[str, ...]:
    """Things for which the rule's conclusion would land at a place."""
    if not at:
        return (key,) if picture.kinds[key] == rule.each else ()
    return tuple(one for one in picture.of(rule.each) if picture.links.get((one, at), HOUSE_KEY) == key)


def _sources(picture: Picture, rule: Rule, at: str, key: str) -> Iterator[tuple[Picture, str]]:
    """Things, there or new, for which the rule's conclusion lands at a place."""
    landing = _landing(picture, rule, at, key)
    yield from ((picture, one) for one in landing)
    if at and not landing:
        further, one = picture.fresh(rule.each)
        known = KINDS[rule.each].fields.get(at)
        if key == HOUSE_KEY:
            yield further, one
        elif known is not None and known.kind == picture.kinds[key]:
            yield replace(further, links={**further.links, (one, at): key}), one


def _fact(picture: Picture, clause: FactClause, key: str, wanted: bool) -> Iterator[tuple[Picture, tuple[_Goal, ...]]]:
    if not wanted:
        yield picture, ()
        return
    for there, it in (*((picture, one) for one in picture.of(clause.kind)), picture.fresh(clause.kind)):
        matched = _matching(there, it, clause.where)
        if matched is not None:
            for further in _equal(matched, it, key, clause.same):
                yield further, ()


def _equal(picture: Picture, it: str, mine: str, same: tuple[tuple[str, str], ...]) -> Iterator[Picture]:
    """Pictures in which its fields equal mine."""
    if not same:
        yield picture
        return
    (its, my), rest = same[0], same[1:]
    its_link = KINDS[picture.kinds[it]].fields.get(its)
    my_link = KINDS[picture.kinds[mine]].fields.get(my)
    if its == "id" and my_link is not None and my_link.form == "link":
        if picture.links.get((mine, my), it) == it:
            yield from _equal(replace(picture, links={**picture.links, (mine, my): it}), it, mine, rest)
    elif my == "id" and its_link is not None and its_link.form == "link":
        if picture.links.get((it, its), mine) == mine:
            yield from _equal(replace(picture, links={**picture.links, (it, its): mine}), it, mine, rest)
    elif its_link is not None and my_link is not None and its_link.form == my_link.form == "link":
        found = picture.linked(mine, my)
        if found is not None and found[0].links.get((it, its), found[1]) == found[1]:
            yield from _equal(replace(found[0], links={**found[0].links, (it, its): found[1]}), it, mine, rest)
    elif its_link is not None and my_link is not None:
        for word in sorted((set(its_link.words) & set(my_link.words)) - {UNKNOWN}):
            one = picture.word(it, its, (word,))
            both = one.word(mine, my, (word,)) if one is not None else None
            if both is not None:
                yield from _equal(both, it, mine, rest)
