"""How a rule of two policies differs, clause by clause, and what a task does otherwise."""

from collections.abc import Iterator
from dataclasses import replace

from airwarrant.desks.policy_diff_points import Point, both, members, one
from airwarrant.desks.policy_diff_voice import Voice, source_of_key
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.model import Rule, Task
from airwarrant.policy.show import clause_sentence, then_sentence, where_text
from airwarrant.policy.show_sizes import task_sentence

_AUTHORITIES = {
    "safety": "safety", "code": "adopted law", "listing": "an equipment listing", "data": "the data", "exclusion": "an exclusion",
    "practice": "practice",
}  # fmt: skip


def rule_points(voice: Voice, a: Rule, b: Rule) -> Iterator[Point]:
    """Whom it speaks of, with which authority, each clause and each conclusion that only one side has."""
    title = f"the rule “{b.title}”"
    if (a.each, a.where) != (b.each, b.where):
        yield both(voice, "each", title, (_subjects(a), _subjects(b)), a, b, "where", "each", verb="looks at")
    if a.authority != b.authority:
        texts = _AUTHORITIES[a.authority], _AUTHORITIES[b.authority]
        yield both(voice, "authority", title, texts, a, b, "authority", verb="speaks for")
    if a.stage != b.stage:
        yield both(voice, "stage", f"the stage of {title}", (a.stage, b.stage), a, b, "stage")
    asks = (
        ("when", f"{title} also asks that"),
        ("any", f"{title} is also content where"),
        ("unless", f"{title} does not fire where"),
    )
    for part, lead in asks:
        yield from members(
            voice,
            part,
            getattr(a, part),
            getattr(b, part),
            lambda side, clause, lead=lead: (
                f"{lead} {clause_sentence(side.policy, a if side is voice.a else b, clause)}"
            ),  # type: ignore[misc]
            (source_of_key(a, part), source_of_key(b, part)),
        )
    yield from members(
        voice,
        "then",
        a.then,
        b.then,
        lambda side, then: f"{title} concludes that {then_sentence(side.policy, a if side is voice.a else b, then)}",
        (source_of_key(a, "then"), source_of_key(b, "then")),
    )


def task_points(voice: Voice, a: Task, b: Task) -> Iterator[Point]:
    """Groups, order, needs, sizes and what the work changes."""
    title = f"“{b.title}”"
    lists = (
        ("groups", "belongs to the group", a.groups, b.groups),
        ("after", "comes after", a.after, b.after),
    )
    for what, lead, first, second in lists:
        sources = source_of_key(a, what), source_of_key(b, what)
        yield from members(voice, what, first, second, lambda _, name, lead=lead: f"{title} {lead} {name}", sources)  # type: ignore[misc]
    sources = source_of_key(a, "needs"), source_of_key(b, "needs")
    yield from members(
        voice,
        "needs",
        a.needs,
        b.needs,
        lambda _, need: f"{title} needs {need.task} while the finding {need.while_finding} stands",
        sources,
    )
    yield from members(
        voice,
        "size",
        a.sizes,
        b.sizes,
        lambda side, size: f"{title} is sized so: {task_sentence(side.policy, replace(b, sizes=(size,)))}",
        (source_of_key(a, "size"), source_of_key(b, "size")),
    )
    facts = (
        ("unit_off", "with the unit off", "with the unit running"),
        ("must_gain", "only where it gains enough", "whatever it gains"),
        ("promised", "whatever anybody decides of it", "unless it is left out"),
    )
    for what, yes, no in facts:
        if getattr(a, what) != getattr(b, what):
            texts = (yes, no) if getattr(a, what) else (no, yes)
            yield both(voice, what, title, texts, a, b, what, verb="is done")
    if a.changes != b.changes:
        for side, task in ((voice.b, b), (voice.a, a)):
            said = f"the prediction takes {title} as {task.changes or 'nothing that moves air'}"
            yield one(voice, "changes", side, said, source_of_key(task, "changes"))


def _subjects(rule: Rule) -> str:
    whose = f" whose {where_text(rule.where)}" if rule.where else ""
    return ("the house" if rule.each == HOUSE_KEY else f"each {rule.each}") + whose
