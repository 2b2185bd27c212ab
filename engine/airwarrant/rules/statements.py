"""The facts one ruleset reads, as the engine takes them."""

import json
from collections.abc import Iterable, Mapping, Sequence
from itertools import count

from airwarrant.rules.durable import Statement
from airwarrant.rules.expand import HOUSE, OWN, Variant, atom_kind, atom_of, verdict_stem
from airwarrant.rules.facts import UNMEASURED, Atom, Facts, Subject

Read = tuple[str, ...]
#: Tests of words, as `word_test` names them, with the word that says they are met: what a subject meets, or a pattern asks for.
Words = frozenset[tuple[str, str]]


class Keys:
    """Short sequential stand-ins for the subjects' keys of one job: the engine joins on them."""

    def __init__(self) -> None:
        self._of: dict[str, str] = {}
        self._next = count()

    def __getitem__(self, key: str) -> str:
        short = self._of.get(key)
        if short is None:
            short = self._of[key] = f"k{next(self._next)}"
        return short


class Reading:
    """What the variants of one ruleset read, and how that is stated for a job."""

    def __init__(
        self,
        variants: Sequence[Variant],
        verdicts: Iterable[tuple[str, str, str, str]],
        concluded: Iterable[tuple[str, str]],
    ) -> None:
        """Note what to state.

        Parameters
        ----------
        variants : sequence of Variant
            All variants of the ruleset.
        verdicts : iterable of (each, check, time, target)
            Verdicts their rules ask for.
        concluded : iterable of (what, name)
            What their rules may conclude.
        """
        copies: dict[str, dict[str, set[Words]]] = {}
        fields: dict[str, set[str]] = {}
        for variant in variants:
            mine = fields.setdefault(f"s:{variant.each}", set())
            for pattern in variant.patterns:
                base = _base(pattern.kind)
                copies.setdefault(base, {}).setdefault(pattern.kind, set()).add(frozenset(pattern.words))
                fields.setdefault(base, set()).update(name for name, _ in pattern.words)
                if pattern.join and pattern.join != "key":
                    mine.add(pattern.join)
        self._copies = {base: tuple(sorted(kinds)) for base, kinds in copies.items()}
        self._fields = {base: tuple(sorted(names)) for base, names in fields.items()}
        self._links = {base: tuple(name for name in names if name[0] != "w") for base, names in self._fields.items()}
        #: by the kind of a fact, what patterns want of its words
        self._wanted = {kind: tuple(words) for kinds in copies.values() for kind, words in kinds.items()}
        self._subjects = tuple(sorted(base for base in copies if base[:2] in ("s:", "r:")))
        asked = ((*one, self._words(*one[1:3])) for one in sorted(set(verdicts)))
        self._verdicts = tuple(one for one in asked if one[-1])
        self._atoms = frozenset(name for kind in self._copies if (name := atom_of(kind)) is not None)
        self.checks = frozenset((check, time) for _, check, time, _, _ in self._verdicts)
        here = {kind for what, name in concluded for kind in self._copies.get(atom_kind(what, name), ())}
        every = [frozenset([pattern.kind for pattern in variant.patterns]) for variant in variants]
        #: of each variant all the kinds it reads, by those of them that must be stated from outside
        self._together: dict[frozenset[str], frozenset[str]] = {}
        for kinds in every:
            outside = kinds - here
            self._together[outside] = self._together.get(outside, frozenset()) | kinds

    @property
    def words(self) -> frozenset[tuple[str, str]]:
        """Kinds of subjects and the tests of their words, as `word_test` names them."""
        names = ((base[2:], name) for base in self._subjects for name in self._fields[base])
        return frozenset((kind, name) for kind, name in names if name[0] == "w")

    def _words(self, check: str, time: str) -> dict[str, tuple[str, ...]]:
        """Words of a check that something here reads, with the kinds of the facts that say so."""
        stem = verdict_stem(check, time)
        found: dict[str, tuple[str, ...]] = {}
        for base, kinds in self._copies.items():
            for word in json.loads(base[len(stem) :]) if base.startswith(stem) else ():
                found[word] = (*found.get(word, ()), *kinds)
        return found

    def subjects(self, facts: Facts, keys: Keys, words: Mapping[str, Words]) -> dict[Statement, Read]:
        """State the subjects that some pattern fits by its words; each statement with how a reader would name it.

        Of words only those are stated that a fitting pattern tests: what is absent fits no other pattern, and need not be read.

        Parameters
        ----------
        words : mapping of subject key to Words
            What each subject meets, at least of the tests in `words`.
        """
        stated: dict[Statement, Read] = {}
        for base in self._subjects:
            links, kinds = self._links[base], self._copies[base]
            for subject in facts.of(base[2:]):
                has = words[subject.key]
                for kind in kinds:
                    fitting = [wanted for wanted in self._wanted[kind] if wanted <= has]
                    if fitting:
                        joins = [(name, self._target(subject, name, keys)) for name in links]
                        fields = (*joins, *sorted(fitting[0].union(*fitting[1:])))
                        stated[Statement(kind, keys[subject.key], fields)] = ("subject", subject.kind, subject.key)
        return stated

    def said(
        self, facts: Facts, atoms: Iterable[Atom], gates: Iterable[tuple[str, Subject]], keys: Keys
    ) -> dict[Statement, Read]:
        """State verdicts, what is concluded so far and the open gates; each with how a reader would name it."""
        stated: dict[Statement, Read] = {}
        subjects, verdicts = facts.subjects, facts.verdicts
        for each, check, time, target, words in self._verdicts:
            for subject in subjects.get(each, ()):
                key = subject.key if target == OWN else HOUSE if target == HOUSE else subject.links.get(target)
                if key is not None:
                    word = verdicts.get((check, time, key), UNMEASURED)
                    for kind in words.get(word, ()):
                        stated[Statement(kind, keys[key])] = ("verdict", check, time, key, word)
        for gate, subject in gates:
            for kind in self._copies.get(gate, ()):
                stated[Statement(kind, keys[subject.key])] = ("gate", gate, subject.key)
        for atom in sorted(atoms):
            stated.update(self.concluded(atom, keys))
        return stated

    def usable(self, stated: Iterable[Statement]) -> list[Statement]:
        """Those of the statements that some variant can use: every pattern of it has a fact of its kind, or may get one here."""
        given = {statement.kind for statement in stated}
        used = frozenset[str]().union(*[kinds for outside, kinds in self._together.items() if outside <= given])
        return [statement for statement in stated if statement.kind in used]

    def concluded(self, atom: Atom, keys: Keys) -> dict[Statement, Read]:
        """State a conclusion, when anything here reads it."""
        kinds = self._copies.get(atom_kind(atom.what, atom.name), ())
        return {Statement(kind, keys[atom.key]): (atom.what, atom.name, atom.key) for kind in kinds}

    def gates(self, gates: Iterable[tuple[str, Subject]]) -> tuple[tuple[str, Subject], ...]:
        """Those of the open gates that anything here waits at."""
        return tuple([one for one in gates if one[0] in self._copies])

    def atoms(self, atoms: Iterable[Atom]) -> frozenset[Atom]:
        """Those of the conclusions that anything here reads."""
        return frozenset([atom for atom in atoms if atom[:2] in self._atoms])

    @staticmethod
    def _target(subject: Subject, name: str, keys: Keys) -> str:
        if name == HOUSE:
            return keys[HOUSE]
        target = subject.links.get(name[2:])
        return "-" if target is None else keys[target]  # never a subject's key, and never absent: joins need the field


def _base(kind: str) -> str:
    return kind.rpartition("|")[2] if kind[0].isdigit() else kind
