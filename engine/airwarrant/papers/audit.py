"""The audit sheet: why each line is there and why each other is not, from reading and policy line to price."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from airwarrant.papers.audit_near import MOST, near_rules, within_band
from airwarrant.papers.audit_policy import overridden, policy_values, shown, unconfirmed
from airwarrant.papers.audit_readings import later_readings, readings
from airwarrant.papers.audit_tree import Branch, branches
from airwarrant.papers.numbers import money
from airwarrant.papers.page import page
from airwarrant.papers.sheet import Sheet
from airwarrant.result.why_rows import Row, place
from airwarrant.result.why_tree import Tree
from airwarrant.result.why_words import ReasonWords
from airwarrant.units import fixed

#: What weighs most comes first in the list of what had to be said.
_AUTHORITIES = ("safety", "code", "listing", "exclusion", "data", "practice")
_NOT_CALLED = "not-called-for"
#: Sections of the sheet, in their order.
_SECTIONS = (
    "basis",
    "glance",
    "stops",
    "lines",
    "left",
    "holds",
    "findings",
    "near",
    "doubts",
    "order",
    "price",
    "readings",
    "later",
    "decided",
    "notices",
    "unconfirmed",
    "overrode",
    "rounds",
    "values",
    "rest",
)


def audit(sheet: Sheet, size: str) -> str:
    """Return the audit sheet as HTML."""
    result, words = sheet.result, ReasonWords(sheet.words.language, sheet.say)

    def tree() -> Tree:
        return Tree(result, words, apart=True)

    lines: list[tuple[Mapping[str, Any], list[Branch]]] = []
    under: dict[str, int] = {}
    for number, line in enumerate(result["lines"], 1):
        walk = tree()
        lines.append((line, _rest(walk.line(line))))
        for firing in walk.shown:
            under.setdefault(firing, number)
    left_out = [entry for entry in result["declined"] if entry["how"] != _NOT_CALLED]
    return page(
        "audit",
        sheet,
        size,
        sections={name: number for number, name in enumerate(_SECTIONS, 1)},
        counts=_counts(result, left_out),
        of=words.of,
        at=place,
        shown=shown,
        plus_minus=lambda number: fixed(number["plus_minus"], number["unit"]),
        money=money,
        most=MOST,
        stops=[(stop, _firings(tree(), stop["firings"])) for stop in result["stops"]],
        lines=lines,
        left_out=[(entry, _rest(tree().declined(entry))) for entry in left_out],
        not_called=list(_by_task(result["declined"])),
        holds=[(hold, _rest(tree().hold(hold))) for hold in result["holds"]],
        findings=[(one, *_finding(one, under, tree())) for one in result["findings"]],
        total=_rest(tree().total()),
        bands=within_band(result),
        near=near_rules(result),
        visits=readings(sheet),
        later=later_readings(sheet),
        order=list(_order(result["lines"])),
        notices=_notices(result),
        policy=policy_values(result),
        unconfirmed=unconfirmed(result),
        overridden=overridden(result),
        rules=result["trace"]["rules"],
    )


def _counts(result: Mapping[str, Any], left_out: Sequence[Mapping[str, Any]]) -> dict[str, int]:
    """How many there are of what a section lists, by section."""
    return {
        "stops": len(result["stops"]),
        "lines": len(result["lines"]),
        "left": len(left_out),
        "holds": len(result["holds"]),
        "findings": len(result["findings"]),
        "doubts": len(result["retests"]) + len(result["contradictions"]),
        "decided": len(result["choices"]) + len(result["overrides"]),
        "notices": len(result["cautions"]),
        "values": len(result["trace"]["policy"]),
    }


def _finding(finding: Mapping[str, Any], under: Mapping[str, int], tree: Tree) -> tuple[list[Branch], int]:
    """A finding's tree, or the number of the line whose tree has it already."""
    told = [under.get(firing, 0) for firing in finding["firings"]]
    return ([], told[0]) if told and all(told) else (_rest(tree.finding(finding)), 0)


def _rest(rows: Iterable[Row]) -> list[Branch]:
    """A tree without its head, which is the heading of its section."""
    return branches([row for row in rows if row.mark != "head"])


def _firings(tree: Tree, firings: Iterable[str]) -> list[Branch]:
    return branches([row for firing in firings for row in tree.firing(firing, 1)])


def _by_task(declined: Iterable[Mapping[str, Any]]) -> Iterator[tuple[str, list[tuple[str, list[str]]]]]:
    """Lines that no rule asked for: by task, and by what kept them off, the places."""
    tasks: dict[str, dict[str, list[str]]] = {}
    for entry in declined:
        if entry["how"] == _NOT_CALLED:
            tasks.setdefault(entry["task"], {}).setdefault(entry["said"], []).append(entry["place"])
    for task, reasons in tasks.items():
        yield task, list(reasons.items())


def _order(lines: Iterable[Mapping[str, Any]]) -> Iterator[tuple[Mapping[str, Any], list[Mapping[str, Any]], bool]]:
    """Each line with the lines that must come before it, and whether all of them do."""
    known = list(lines)
    for line in known:
        first = [one for one in known if one["task"] in line["after"]]
        yield line, first, all(one["order"] < line["order"] for one in first)


def _notices(result: Mapping[str, Any]) -> list[tuple[Mapping[str, Any], str, Mapping[str, Any]]]:
    """What had to be said, each with the authority and the rule that asks for it, what weighs most first."""
    rules, out = result["trace"]["rules"], []
    for caution in result["cautions"]:
        asking = [rules[one.rpartition("@")[0]] for one in caution["firings"] if one.rpartition("@")[0] in rules]
        asking.sort(key=lambda rule: _AUTHORITIES.index(rule["authority"]))
        out.append((caution, asking[0]["authority"] if asking else "code", asking[0] if asking else {}))
    return sorted(out, key=lambda one: _AUTHORITIES.index(one[1]))
