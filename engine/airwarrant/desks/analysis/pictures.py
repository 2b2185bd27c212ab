"""A picture of a job as facts that rules can be evaluated on, made small, and said in words."""

from collections.abc import Callable, Set
from dataclasses import replace

from airwarrant.desks.joins import VERDICTS, Picture
from airwarrant.desks.readable import readable
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy
from airwarrant.rules.facts import Facts


def passing(policy: Policy, picture: Picture) -> Picture:
    """Return the picture in which every check that is open passes."""
    more = {
        (name, time, key): frozenset({"pass"})
        for name, check in policy.checks.items()
        for time in ("found", "predicted")
        for key in picture.of(check.each)
    }
    return replace(picture, verdicts={**more, **picture.verdicts})


def facts_of(picture: Picture) -> Facts:
    """Return the job of a picture; of words that are still possible it has the plainest, and what is open is unmeasured."""
    kinds: dict[str, tuple[Subject, ...]] = {}
    for key in sorted(picture.kinds):
        kinds[picture.kinds[key]] = (*kinds.get(picture.kinds[key], ()), subject_of(picture, key))
    verdicts = {name: _one(words, VERDICTS) for name, words in picture.verdicts.items()}
    return Facts(kinds, verdicts, frozenset(task for task, there in picture.carried.items() if there))


def subject_of(picture: Picture, key: str) -> Subject:
    """Return one thing of a picture with its words and links."""
    words = {
        name: _one(left, KINDS[picture.kinds[key]].fields[name].words)
        for (at, name), left in picture.words.items()
        if at == key
    }
    links = {name: target for (at, name), target in picture.links.items() if at == key}
    return Subject(picture.kinds[key], key, words, links)


def smallest(policy: Policy, picture: Picture, named: Set[str], still: Callable[[Picture], bool]) -> Picture:
    """Return the picture without anything that can be left out while `still` holds; the things `named` stay."""
    for kind in ("verdicts", "words", "links", "carried"):
        for name in list(getattr(picture, kind)):
            held = getattr(picture, kind)
            less = replace(picture, **{kind: {other: value for other, value in held.items() if other != name}})
            if readable(policy, less.verdicts) and still(less):
                picture = less
    for key in [key for key in picture.kinds if key not in {*named, HOUSE_KEY}]:
        used = any(key in name for name in picture.words) or any(name[2] == key for name in picture.verdicts)
        if used or key in picture.links.values() or any(at == key for at, _ in picture.links):
            continue
        less = replace(picture, kinds={other: kind for other, kind in picture.kinds.items() if other != key})
        if still(less):
            picture = less
    return picture


def said(picture: Picture) -> tuple[str, ...]:
    """Say a picture in lines that an owner reads; what is not said is absent, unknown or unmeasured."""
    lines = [f"there is {key}" for key in sorted(picture.kinds) if key != HOUSE_KEY]
    lines += [f"{key}.{name} = {target}" for (key, name), target in sorted(picture.links.items())]
    for (key, name), left in sorted(picture.words.items()):
        lines.append(f'{key}.{name} = "{_one(left, KINDS[picture.kinds[key]].fields[name].words)}"')
    for (check, time, key), words in sorted(picture.verdicts.items()):
        lines.append(f"check {check} of {key} says {_one(words, VERDICTS)}" + ("" if time == "found" else f" ({time})"))
    lines += [f"{task} was scoped in the round before" for task, there in sorted(picture.carried.items()) if there]
    return tuple(lines)


def _one(left: frozenset[str], order: tuple[str, ...]) -> str:
    """One of the words still possible: unknown where that will do, else the first of the list."""
    return UNKNOWN if UNKNOWN in left else next(word for word in order if word in left)
