"""What one evaluation has read, judged and fired, gathered while it runs: enough to say later which change of policy cannot touch it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from airwarrant.policy.access import Read

if TYPE_CHECKING:
    from airwarrant.rules.facts import Atom, Firing
    from airwarrant.rules.verdict import Verdict


@dataclass(slots=True)
class Seen:
    """Filled by an evaluation that is handed one; without one nothing is gathered.

    Attributes
    ----------
    asked : list of tuple of (str, str)
        Every policy value that judging and sizing asked for, with the part of it, whether it had an answer or not; many stand there
        several times.
    verdicts : list of Verdict
        Every verdict given in any round, at any fan setting, for any trial scope; one may stand there several times.
    rules : set of str
        Rules that fired in any round, those that only widen a reading's ± too.
    atoms : set of (str, str)
        Findings and lines concluded in any round, as ``("finding", name)`` and ``("line", task)``.
    kinds : set of str
        Kinds of which the record has at least one.
    """

    asked: list[tuple[Read, ...]] = field(default_factory=list)
    verdicts: list["Verdict"] = field(default_factory=list)
    rules: set[str] = field(default_factory=set)
    atoms: set[tuple[str, str]] = field(default_factory=set)
    kinds: set[str] = field(default_factory=set)

    @property
    def reads(self) -> set[Read]:
        """The values asked for, each once."""
        return set[Read]().union(*{id(several): several for several in self.asked}.values())

    def fired(self, firings: Iterable["Firing"], atoms: Iterable["Atom"] = ()) -> None:
        """Take in what one round fired and concluded."""
        self.rules.update(firing.rule for firing in firings)
        self.atoms.update((atom.what, atom.name) for atom in atoms)
