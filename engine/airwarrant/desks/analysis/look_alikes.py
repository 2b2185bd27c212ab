"""Ids that look alike in print: one may be read, or typed, for the other.

Letters outside of small ASCII are refused by the shape of the files, so that what is left of Unicode's confusable characters
(Unicode Technical Standard 39, section 4: two texts are confusable when their skeletons are equal) are the few below, from memory.
"""

from collections.abc import Iterable, Iterator

from airwarrant.errors import Fault
from airwarrant.policy.model import Named, Policy
from airwarrant.source.place import Place

#: What is drawn alike -> one of them. `rn` and `vv` look like one letter when set close.
_SKELETON = (("rn", "m"), ("vv", "w"), ("cl", "d"), ("1", "l"), ("i", "l"), ("0", "o"), ("5", "s"))


def skeleton(name: str) -> str:
    """Return a name with every character that looks like another in its place; equal skeletons look alike."""
    for seen, drawn in _SKELETON:
        name = name.replace(seen, drawn)
    return name


def look_alikes(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for the later of two names of one section that look alike."""
    sections: dict[str, Iterable[Named]] = {
        "value": [*policy.parameters.values(), *policy.tables.values(), *policy.figures.values()],
        "check": policy.checks.values(),
        "rule": policy.rules.values(),
        "task": policy.tasks.values(),
    }
    names = {section: [(one.name, one.place) for one in blocks] for section, blocks in sections.items()}
    names["finding"] = [
        (then.name, rule.place) for rule in policy.rules.values() for then in rule.then if then.what == "finding"
    ]
    names["hold"] = [(then.named, rule.place) for rule in policy.rules.values() for then in rule.then if then.named]
    for section, held in names.items():
        yield from _alike(section, held)


def _alike(section: str, held: Iterable[tuple[str, Place]]) -> Iterator[Fault]:
    first: dict[str, tuple[Place, str]] = {}
    for place, name in sorted({name: (place, name) for name, place in reversed(list(held))}.values()):
        other = first.setdefault(skeleton(name), (place, name))
        if other[1] != name:
            found = f"the {section} `{name}` looks like `{other[1]}` ({other[0]})"
            yield Fault("look-alike", found, "names that differ in more than look-alike letters", place, name)
