"""The order in which rules may run: strata over what they conclude and what they read."""

from collections.abc import Mapping, Sequence

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import AtomName, atoms_concluded, atoms_read


def strata(rules: Mapping[str, Rule]) -> tuple[tuple[str, ...], ...]:
    """Sort rules into strata.

    A rule that reads a finding or line of one place may stand in the same stratum as a rule that concludes it. A rule
    that reads it under ``unless``, or over all subjects of a kind, stands in a later one.

    Returns
    -------
    tuple of tuple of str
        Rule names by stratum, in name order within each.

    Raises
    ------
    PolicyError
        ``cycle``: a rule waits for the end of something that itself follows from the rule.
    """
    return _levels(rules, components(rules))


def components(rules: Mapping[str, Rule]) -> tuple[tuple[str, ...], ...]:
    """Groups of rules that feed each other, producers before consumers; most groups are one rule."""
    return _tarjan({name: sorted(reads) for name, reads in _producers(rules).items()})


def is_ring(group: Sequence[str], rules: Mapping[str, Rule]) -> bool:
    """Whether the rules of a group read, by way of one another or at once, what they conclude themselves."""
    first = rules[group[0]]
    return len(group) > 1 or bool({read.name for read in atoms_read(first)} & atoms_concluded(first))


def _producers(rules: Mapping[str, Rule]) -> dict[str, dict[str, bool]]:
    """For each rule the rules whose conclusions it reads, and whether strictly."""
    by_atom: dict[AtomName, list[str]] = {}
    for name in sorted(rules):
        for atom in atoms_concluded(rules[name]):
            by_atom.setdefault(atom, []).append(name)
    edges: dict[str, dict[str, bool]] = {}
    for name in sorted(rules):
        mine = edges.setdefault(name, {})
        for read in atoms_read(rules[name]):
            for producer in by_atom.get(read.name, ()):
                mine[producer] = mine.get(producer, False) or read.strict
    return edges


def _levels(rules: Mapping[str, Rule], groups: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    edges = _producers(rules)
    group_of = {name: number for number, group in enumerate(groups) for name in group}
    level: dict[int, int] = {}
    faults: list[Fault] = []
    for number, group in enumerate(groups):
        depth = 0
        for name in group:
            for producer, strict in edges[name].items():
                if group_of[producer] != number:
                    depth = max(depth, level[group_of[producer]] + strict)
                elif strict:
                    faults.append(_cycle(rules[name], rules[producer]))
        level[number] = depth
    if faults:
        raise PolicyError(faults)
    count = max(level.values(), default=-1) + 1
    return tuple(
        tuple(sorted(name for number, group in enumerate(groups) if level[number] == depth for name in group))
        for depth in range(count)
    )


def _cycle(consumer: Rule, producer: Rule) -> Fault:
    if consumer.name == producer.name:
        found = f"rule `{consumer.name}` ({consumer.place}) waits for the end of what it concludes itself"
    else:
        found = (
            f"rule `{consumer.name}` ({consumer.place}) waits for the end of what `{producer.name}` ({producer.place}) "
            f"concludes, and `{producer.name}` in turn depends on `{consumer.name}`"
        )
    return Fault(
        code="cycle",
        found=found,
        allowed="`unless`, `some`, `every` and `none` over findings and lines that do not depend on the rule itself",
        place=consumer.place,
        field=consumer.name,
        advice="Take the finding or line out of one of the two rules.",
    )


def _tarjan(edges: Mapping[str, list[str]]) -> tuple[tuple[str, ...], ...]:
    """Strongly connected components, each after those it has edges to. Iterative: policies may chain deeply."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    found: list[tuple[str, ...]] = []
    for root in edges:
        if root in index:
            continue
        work = [(root, iter(edges[root]))]
        index[root] = low[root] = len(index)
        stack.append(root)
        on_stack.add(root)
        while work:
            node, rest = work[-1]
            for target in rest:
                if target not in index:
                    index[target] = low[target] = len(index)
                    stack.append(target)
                    on_stack.add(target)
                    work.append((target, iter(edges[target])))
                    break
                if target in on_stack:
                    low[node] = min(low[node], index[target])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == index[node]:
                    at = stack.index(node)
                    group = stack[at:]
                    del stack[at:]
                    on_stack.difference_update(group)
                    found.append(tuple(sorted(group)))
    return tuple(found)
