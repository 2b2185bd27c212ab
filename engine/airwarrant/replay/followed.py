"""What rules of one authority rest on, in a policy beside another; and what is said of a change below them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from airwarrant.policy.model import Check, Policy, Rule, Then
from airwarrant.policy.rests_on import below, check_refs
from airwarrant.replay.feeding import Signed, feeding, holds, shunned, signed
from airwarrant.replay.heard import Heard, Strength, heard, judged_again
from airwarrant.replay.moved import judged_whole
from airwarrant.rules.clauses import checks_read

SAFETY, CODE = "safety", "code"
#: How a sentence ends that names a change of which nobody can say whether it is looser, and one of what adopted law asks for.
UNCLEAR, LAW = "whether it is looser cannot be told", "hold it against the edition in force"
_WHOSE = {SAFETY: "safety rule", CODE: "rule of adopted law"}
#: How strict a change leaves rules, the rule that speaks less, and whether it hears what changed itself.
Found = tuple[Strength, str, bool]
UNCHANGED: Found = ("strict", "", True)


class Looser(NamedTuple):
    """A change of what rules rest on; one with an `ending` is only told, any other is a failure by itself."""

    what: str
    ending: str = ""

    @property
    def fails(self) -> bool:
        return not self.ending

    @property
    def said(self) -> str:
        """The change as a sentence."""
        return f"{self.what}; {self.ending}" if self.ending else self.what


@dataclass(frozen=True, slots=True)
class Followed:
    """A check that rules rest on, and what is heard of it; `own` where one of the authority in question hears it itself."""

    check: Check
    heard: tuple[Heard, ...]
    own: bool


class Rests:
    """What the rules of an authority rest on.

    Attributes
    ----------
    rules : list of Signed
        Of policy `a`.
    feeding : list of Signed
        Rules whose findings they read.
    silencing : list of (str, frozenset of str)
        Findings that keep them from what it is safer that they do; see `shunned`.
    checks : list of Followed
    rests : mapping of check to tuple of Key
        All below it.
    whole : set of str
        Checks whose limits are held against each other by number.
    """

    def __init__(self, a: Policy, b: Policy, authority: str) -> None:
        self.a, self.b, self.whose = a, b, _WHOSE[authority]
        self.safety = authority == SAFETY
        self.rules = [(rule, 1) for rule in a.rules.values() if rule.authority == authority]
        own = list(self._heard(self.rules, own=True))
        beside = [*self._freeing(), *self._widening(own)] if self.safety else []
        seeds = [*signed(self.rules), *beside] if self.safety else []
        self.feeding = feeding(a, seeds, authority)
        self.silencing = sorted(set(shunned((*seeds, *self.feeding))), key=lambda one: (one[0], -len(one[1])))
        self.checks = [*own, *self._heard([*self.feeding, *beside], own=False)]
        self.rests = {one.check.name: below(a, check_refs(one.check)) for one in self.checks}
        checks = [one.check for one in self.checks]
        self.whole = {check.name for check in checks if judged_whole(a, b, check, b.checks.get(check.name))}

    def _heard(self, rules: list[Signed], own: bool) -> Iterator[Followed]:
        names = {check for rule, _ in rules for check, _ in checks_read(rule)}
        names |= {then.name for rule, _ in rules for then in rule.then if then.what == "target"}
        for name in sorted(names & self.a.checks.keys()):
            check = self.a.checks[name]
            yield Followed(check, heard(self.a, rules, check), own)

    def _freeing(self) -> list[Signed]:
        """Rules of other authority that lift what safety holds: safer silent."""
        rules = [rule for rule in self.a.rules.values() if rule.authority != SAFETY]
        return [(replace(rule, then=lifts), -1) for rule in rules if (lifts := self.lifted(rule))]

    def lifted(self, rule: Rule) -> tuple[Then, ...]:
        """What a rule lifts of what these rules hold."""
        held = {name for other, _ in self.rules for name in holds(other)}
        return tuple(then for then in rule.then if then.what == "lift" and then.name in held)

    def _widening(self, own: list[Followed]) -> list[Signed]:
        """Rules that widen what safety's own checks read, by whether it loses by a narrower reading or by a wider one."""
        found = []
        for sign in (1, -1):
            fields = {
                name
                for one in own
                if judged_again(one.check, one.check, one.heard, 0, -1 if sign > 0 else 1)[0] != "strict"
                for form, name in below(self.a, check_refs(one.check))
                if form == "field"
            }
            for rule in self.a.rules.values():
                said = tuple(then for then in rule.then if then.what == "doubt" and then.name in fields)
                if said and (sign < 0 or rule.authority != SAFETY):
                    found.append((replace(rule, then=said), sign))
        return found

    def said(self, what: str, strength: Strength, rule: str, own: bool) -> Iterator[Looser]:
        """Say what became of the rules through a change, if anything did."""
        if strength == "strict" or not rule:
            return
        title = self.a.rules[rule].title
        if strength == "looser" and own:
            yield Looser(f"{what}: the {self.whose} “{title}” acts in fewer cases")
        elif own:
            yield Looser(f"{what}, on which the {self.whose} “{title}” rests", UNCLEAR)
        else:
            yield Looser(f"{what}, on which a {self.whose} rests through “{title}”", UNCLEAR)


def looser_of(one: Found, other: Found) -> Found:
    """The looser of two; of safety's own before what it rests on."""

    def rank(found: Found) -> tuple[bool, bool, bool]:
        strength, _, own = found
        return strength != "strict", own, strength == "looser"

    return max(one, other, key=rank)
