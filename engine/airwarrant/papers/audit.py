"""The audit sheet: why each line is there and why each other is not, from reading and policy line to price."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from airwarrant.papers.audit_near import MOST, near_rules, within_band
from airwarrant.papers.audit_policy import Value, cited_rules, overridden, policy_values, shown, unconfirmed
from airwarrant.papers.audit_readings import later_readings, readings
from airwarrant.papers.audit_trees import NOT_CALLED, Trees
from airwarrant.papers.drawn import PAPER, PHONE, Pictures
from airwarrant.papers.numbers import money
from airwarrant.papers.page import page
from airwarrant.papers.sheet import AUTHORITIES, Sheet
from airwarrant.result.why_rows import place
from airwarrant.result.why_words import ReasonWords
from airwarrant.units import fixed

#: Sections of the sheet, in their order.
_SECTIONS = (
    "basis",
    "glance",
    "drawn",
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
    "rules",
    "values",
    "rest",
)


def audit(sheet: Sheet, size: str) -> str:
    """Return the audit sheet as HTML."""
    result, words = sheet.result, ReasonWords(sheet.words.language, sheet.say)
    trees, notices = Trees(result, words), _notices(result)
    values = policy_values(result)
    rules = cited_rules(result, trees.named | _asking(result))
    return page(
        "audit",
        sheet,
        size,
        sections={name: number for number, name in enumerate(_SECTIONS, 1)},
        counts=_counts(result, trees, rules),
        pictures=list(_drawn(sheet)),
        of=words.of,
        at=place,
        shown=shown,
        plus_minus=lambda number: fixed(number["plus_minus"], number["unit"]),
        money=money,
        most=MOST,
        trees=trees,
        not_called=list(_by_task(result["declined"])),
        bands=within_band(result),
        near=near_rules(result),
        visits=readings(sheet),
        later=later_readings(sheet),
        order=list(_order(result["lines"])),
        notices=notices,
        values=values,
        cited=rules,
        unconfirmed=unconfirmed([*values, *rules]),
        overridden=overridden(values),
        rules=result["trace"]["rules"],
    )


def _drawn(sheet: Sheet) -> Iterator[Mapping[str, str]]:
    """The predicted scope in pictures, for paper and for a phone, each with what it shows."""
    wide, narrow = Pictures(sheet, PAPER), Pictures(sheet, PHONE)
    for name, on_paper, on_phone in (
        ("profile", wide.profile(), narrow.profile()),
        ("blower", wide.blower(), narrow.blower()),
        ("effects", wide.effects(), narrow.effects()),
    ):
        if on_paper:
            yield {"wide": on_paper, "narrow": on_phone, "caption": sheet.words(f"audit.drawn.{name}")}


def _asking(result: Mapping[str, Any]) -> set[str]:
    """Rules that ask for a caution, a reading to take again or a target of the test-out."""
    asking = {firing.rpartition("@")[0] for caution in result["cautions"] for firing in caution["firings"]}
    return asking | {one["rule"] for one in (*result["retests"], *result["acceptance"]) if one.get("rule")}


def _counts(result: Mapping[str, Any], trees: Trees, rules: Sequence[Value]) -> dict[str, int]:
    """How many there are of what a section lists, by section."""
    return {
        "stops": len(result["stops"]),
        "lines": len(result["lines"]),
        "left": len(trees.left_out) + len(trees.left_over),
        "holds": len(result["holds"]),
        "findings": len(result["findings"]),
        "doubts": len(result["retests"]) + len(result["contradictions"]),
        "decided": len(result["choices"]) + len(result["overrides"]),
        "notices": len(result["cautions"]),
        "rules": len(rules),
        "values": len(result["trace"]["policy"]),
    }


def _by_task(declined: Iterable[Mapping[str, Any]]) -> Iterator[tuple[str, list[tuple[str, list[str]]]]]:
    """Lines that no rule asked for: by task, and by what kept them off, the places."""
    tasks: dict[str, dict[str, list[str]]] = {}
    for entry in declined:
        if entry["how"] == NOT_CALLED:
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
        asking.sort(key=lambda rule: AUTHORITIES.index(rule["authority"]))
        out.append((caution, asking[0]["authority"] if asking else caution["authority"], asking[0] if asking else {}))
    return sorted(out, key=lambda one: AUTHORITIES.index(one[1]))
