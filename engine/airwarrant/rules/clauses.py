"""What a rule's clauses name: findings, lines and verdicts they read, and what a rule concludes.

A description only. Neither evaluator finds here whether a clause holds; each answers that in its own way.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
)

Part = Literal["when", "any", "unless"]
AtomName = tuple[Literal["finding", "line"], str]


@dataclass(frozen=True, slots=True)
class AtomRead:
    """A finding or line that a rule reads.

    `strict` says that the answer is only known once nothing more can be concluded under that name: the clause stands
    under ``unless``, or counts over all subjects of a kind.
    """

    name: AtomName
    strict: bool


def clauses_of(rule: Rule) -> Iterator[tuple[Part, int, Clause]]:
    """Yield every clause with the part it stands in and its index there."""
    for index, clause in enumerate(rule.when):
        yield "when", index, clause
    for index, clause in enumerate(rule.any):
        yield "any", index, clause
    for index, clause in enumerate(rule.unless):
        yield "unless", index, clause


def atom_name(clause: Clause) -> AtomName | None:
    """Name of the finding or line that `clause` reads, if it reads one."""
    if isinstance(clause, FindingClause):
        return "finding", clause.finding
    if isinstance(clause, LineClause):
        return "line", clause.task
    if isinstance(clause, ManyClause):
        if clause.finding:
            return "finding", clause.finding
        if clause.line:
            return "line", clause.line
    return None


def atoms_read(rule: Rule) -> tuple[AtomRead, ...]:
    """Findings and lines that `rule` reads, each once and strict ones marked, in name order."""
    reads = set()
    for part, _, clause in clauses_of(rule):
        name = atom_name(clause)
        if name is not None:
            reads.add((name, part == "unless" or isinstance(clause, ManyClause)))
    return tuple(AtomRead(name, strict) for name, strict in sorted(reads))


def checks_read(rule: Rule) -> frozenset[tuple[str, str]]:
    """(check, time) of every verdict that `rule` reads."""
    return frozenset(
        (clause.check, clause.time)
        for _, _, clause in clauses_of(rule)
        if isinstance(clause, CheckClause) or (isinstance(clause, ManyClause) and clause.check)
    )


def atoms_concluded(rule: Rule) -> frozenset[AtomName]:
    """Findings and lines that `rule` may conclude."""
    names: set[AtomName] = set()
    for then in rule.then:
        if then.what == "finding":
            names.add(("finding", then.name))
        elif then.what == "line":
            names.add(("line", then.name))
    return frozenset(names)


def closed_only(clause: Clause) -> bool:
    """Whether `clause` is answered over a closed set only: it counts over a kind, or asks of the round before."""
    return isinstance(clause, (ManyClause, CarriedClause))
