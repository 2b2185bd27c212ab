"""The dictionary an owner writes rules with: kinds, fields, words, units, checks, findings, tasks, groups."""

from dataclasses import dataclass

from airwarrant.job.dictionary import KINDS, Field
from airwarrant.policy.model import Policy
from airwarrant.policy.rule_shape import CLAUSE_HEADS, THEN_HEADS
from airwarrant.units import UNITS

_SECTIONS = {
    "house": "[house]",
    "old": "[old]",
    "new": "[new]",
    "old-blower": "[old.blower]",
    "new-blower": "[new.blower]",
    "derived": "worked out by the program",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One word of the dictionary."""

    section: str
    name: str
    title: str
    allowed: str = ""
    where: str = ""


def dictionary(policy: Policy | None = None) -> tuple[Entry, ...]:
    """Return every word a policy may use; those of a policy itself only if one is given."""
    entries: list[Entry] = []
    for kind in KINDS.values():
        entries.append(Entry("kind", kind.name, kind.title, where=kind.where))
        entries += [_field(kind.name, field) for field in kind.fields.values()]
    entries += [Entry("unit", unit.name, unit.dimension) for unit in UNITS.values()]
    entries += [Entry("clause", head, "what a clause may begin with") for head in CLAUSE_HEADS]
    entries += [Entry("conclusion", head, "what a conclusion may begin with") for head in THEN_HEADS]
    return tuple(entries) if policy is None else (*entries, *_of_policy(policy))


def _field(kind: str, field: Field) -> Entry:
    match field.form:
        case "word":
            allowed = " | ".join(field.words)
        case "link":
            allowed = f"the id of a {field.kind}"
        case _:
            allowed = field.unit if field.si_unit in ("", field.unit) else f"{field.unit} (SI record: {field.si_unit})"
    own = f"[[visit.{kind}]]" if field.section == "visit" and kind != "house" else ""
    where = own or (f"[[{kind}]]" if field.section == "item" else _SECTIONS.get(field.section, "[[visit]]"))
    key = f", key `{field.key}`" if field.key else ""
    return Entry(f"{kind} {field.form}", field.name, field.title, allowed, where + key)


def _of_policy(policy: Policy) -> list[Entry]:
    entries = [Entry("parameter", n, p.title, p.unit, str(p.keys["value"].place)) for n, p in policy.parameters.items()]
    entries += [
        Entry("table", n, t.title, f"{t.unit} by {t.by}", str(t.keys["rows"].place)) for n, t in policy.tables.items()
    ]
    entries += [
        Entry("figure", n, f.title, f"{f.unit}, each {f.each}", str(f.place)) for n, f in policy.figures.items()
    ]
    entries += [Entry("check", n, c.title, f"each {c.each}", str(c.place)) for n, c in policy.checks.items()]
    findings: dict[str, list[str]] = {}
    for name, rule in policy.rules.items():
        for then in rule.then:
            if then.what == "finding":
                findings.setdefault(then.name, []).append(name)
    entries += [Entry("finding", n, f"concluded by {', '.join(findings[n])}") for n in sorted(findings)]
    entries += [Entry("task", n, t.title, ", ".join(t.groups), str(t.place)) for n, t in policy.tasks.items()]
    groups: dict[str, list[str]] = {}
    for name, task in policy.tasks.items():
        for group in task.groups:
            groups.setdefault(group, []).append(name)
    entries += [Entry("group", n, f"tasks: {', '.join(groups[n])}") for n in sorted(groups)]
    return entries
