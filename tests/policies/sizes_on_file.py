"""Sizes of every task's line, over a range of houses small and large, as they come out of the policies.

`python tests/policies/sizes_on_file.py` writes ``sizes_on_file.toml`` again: read its difference line by line after a change that is
meant.
"""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy, Task
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from airwarrant.sizing.line import size_line
from policies.one_of_each import House, policy_of

FILE = Path(__file__).with_suffix(".toml")
#: One market without a code, and one of each code that sizes something.
MARKETS = ("clay-hollow", "juniper-sill", "quillback-cove")
#: Houses from small to large, by which every number is multiplied.
SCALES = (0.55, 0.65, 0.75, 0.85, 0.95, 1.05, 1.15, 1.3, 1.45, 1.6)


def sizes(policy: Policy, task: Task, place: str, scale: float) -> list[str]:
    """Title and number of each size of a task at a place, in a house `scale` times the usual."""
    house = House(policy)
    words = {table.by: str(table.rows[0][0]) for table in policy.tables.values() if not table.by_unit}
    kinds = {name: (Subject(name, name, MappingProxyType({**words, "undercut_ok": "yes"})),) for name in KINDS}

    def source(key: str, name: str, time: str) -> Reading:
        known = house.source(key, name, time)
        return known._replace(value=known.value * scale)

    judge = Judge(Prepared(policy), kinds, source)
    found = size_line(policy, task, kinds[place][0], judge)
    if found is None:
        return []
    return [
        f"{one.size.title}: {'none' if one.value is None else f'{one.value:.4g}'}, {one.count}" for one in found.sizes
    ]


def on_file() -> Mapping[str, Mapping[str, list[list[str]]]]:
    """Sizes as they stand in the file: market, task at place, one list a scale."""
    return tomllib.loads(FILE.read_text())


def places(policy: Policy, task: str) -> Iterator[str]:
    """Kinds of thing at which a line of a task may stand."""
    for rule in policy.rules.values():
        for then in rule.then:
            if then.what == "line" and then.name == task:
                link = KINDS[rule.each].fields.get(then.at)
                yield link.kind if link is not None and link.kind else HOUSE_KEY if then.at else rule.each


def made() -> Iterator[tuple[str, str, list[list[str]]]]:
    """Market, task at place, and the sizes at every scale."""
    for market in MARKETS:
        policy = policy_of(market)
        for task in policy.tasks.values():
            if task.sizes:
                for place in sorted(set(places(policy, task.name))):
                    yield market, f"{task.name} at {place}", [sizes(policy, task, place, scale) for scale in SCALES]


def write() -> None:
    """Write the file again."""
    lines = [
        "# Sizes over houses from small to large: a record of what the shipped policies came to when it was written, no source of what",
        "# is right. Written by `python tests/policies/sizes_on_file.py`; read its difference line by line after a change that is meant.",
    ]
    last = ""
    for market, name, rows in made():
        if market != last:
            lines += ["", f"[{market}]"]
            last = market
        lines.append(f'"{name}" = [')
        lines += [f"  [{', '.join(chr(34) + one + chr(34) for one in row)}]," for row in rows]
        lines.append("]")
    FILE.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    write()
