"""Is a record good enough to prescribe from: what stops, what must be read again, what is missing, what looks odd.

Missing things stand in the order of what waits for them: first those that the offer waits for, then by how many lines they could
decide, then by the money between their answers. Both are exact for the rules on the readings as they stand; lines that only a
prediction would bring are not counted.
"""

import re
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal

from airwarrant.desks.reads import words_read
from airwarrant.desks.usual import in_units, usual_ranges
from airwarrant.desks.what_if import PROPOSAL, Answer, WhatIf
from airwarrant.desks.worth import Span, Worth
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN, Field
from airwarrant.job.readings import Reading
from airwarrant.job.shape import unit_of
from airwarrant.policy.model import ManyClause
from airwarrant.result.document import document
from airwarrant.result.texts import Texts
from airwarrant.rules.verdict import Verdict
from airwarrant.rules.walk import Walked
from airwarrant.run import Run
from airwarrant.source.place import Place
from airwarrant.units import convert, fixed

BEFORE_SALE = "before-sale"
_NAMED = re.compile(r"([a-z0-9_]+)(?: of ([a-z0-9-]+))?")
_UNFIT = re.compile(r"([a-z0-9_]+) is ([a-z]+); this check needs it (.+)")
#: (field, subject)
_Place = tuple[str, str]
_Asked = Mapping[_Place, Set[str]]


@dataclass(frozen=True, slots=True)
class Missing:
    """Something the record does not say and a rule or check asks for.

    Attributes
    ----------
    name, title : str
        Field of the dictionary, and what it is.
    subjects : tuple of str
        ``house`` or the items that lack it.
    where : str
        Where the record holds it.
    lines : tuple of str
        Lines, and ``proposal``, that knowing it could bring, take out, hold or free.
    asked_by : tuple of str
        Rules that keep the offer back because it is not known.
    note : str
        Where it is there and not fit: why.
    total : (Decimal, Decimal) or None
        Least and most that the scope comes to with any answer for any one of the subjects; None where no price is known or no
        line moves.
    """

    name: str
    title: str
    subjects: tuple[str, ...]
    where: str
    lines: tuple[str, ...]
    asked_by: tuple[str, ...] = ()
    note: str = ""
    total: Span | None = None

    @property
    def money(self) -> Decimal:
        """How far apart the totals lie."""
        return self.total[1] - self.total[0] if self.total is not None else Decimal(0)


@dataclass(frozen=True, slots=True)
class Question:
    """Something that is said and looks odd: outside its usual range, or against another reading."""

    text: str
    place: Place | None


@dataclass(frozen=True, slots=True)
class Wait:
    """What must be cleared before anything is offered: a ``stop``, a reading to take again, or a hold on something unsaid."""

    kind: str
    text: str
    rule: str


@dataclass(frozen=True, slots=True)
class Gaps:
    """Everything that stands between a record and a prescription."""

    job: str
    market: str
    waits: tuple[Wait, ...]
    missing: tuple[Missing, ...]
    questions: tuple[Question, ...]
    currency: str = ""

    @property
    def most_money(self) -> Missing | None:
        """What the most money hangs on, of all that is not known."""
        most = max(self.missing, key=lambda one: one.money, default=None)
        return most if most is not None and most.money > 0 else None

    @property
    def good_enough(self) -> bool:
        """Whether nothing must be answered or read before an offer. Questions and what could still be known do not count."""
        return not self.waits


def gaps(run: Run) -> Gaps:
    """Return what a record lacks, from one evaluation of it."""
    waits, asked = _waits(run)
    what_if = WhatIf(run)
    worth = Worth(run, what_if.settled)
    missing = sorted(
        (
            *_missing_readings(run, asked, what_if, worth),
            *_unknown_words(run, asked, what_if, worth),
            *_absent(asked),
        ),
        key=lambda one: (-len(one.asked_by), -len(one.lines), -one.money, one.name, one.subjects),
    )
    questions = (*_odd(run), *_against_each_other(run))
    return Gaps(run.record.id, run.policy.market.name, waits, tuple(missing), questions, run.policy.market.currency)


def _waits(run: Run) -> tuple[tuple[Wait, ...], _Asked]:
    """What keeps the offer back, and the rules that do so for want of each field of each subject.

    That is: stops, re-readings before the sale, and holds of the stage trust or that rest on something nobody wrote down.
    """
    result = document(run)
    waits = [Wait("stop", one["said"], ", ".join(one["firings"])) for one in result["stops"]]
    asked: dict[_Place, set[str]] = {}
    for one in result["retests"]:
        if one["when"] == BEFORE_SALE:
            place = "" if one["subject"] == HOUSE_KEY else f", {one['subject']}"
            waits.append(Wait("read again", f"{one['title']}{place}: {one['how']}", one.get("rule", "")))
            asked.setdefault((one["reading"], one["subject"]), set()).add(one.get("rule", "") or one.get("why", ""))
    walked = {(one.rule, one.subject): one for one in run.walked}
    held: dict[tuple[str, str], Wait] = {}
    for one in result["holds"]:
        if one["when"] != BEFORE_SALE:
            continue
        unsaid = _unsaid(run, walked[one["rule"], one["subject"]])
        if unsaid or run.policy.rules[one["rule"]].stage == "trust":
            held.setdefault((one["name"], one["until"]), Wait("hold", one["until"], one["rule"]))
            for unsaid_place in unsaid:
                asked.setdefault(unsaid_place, set()).add(one["rule"])
    return (*waits, *held.values()), asked


def _unsaid(run: Run, walked: Walked) -> frozenset[_Place]:
    """(field, subject) of the unknown words and missing readings a firing stands on; (kind, "") of a kind that is absent."""
    rule, subject = run.policy.rules[walked.rule], run.subjects[walked.subject]
    bare = [one for one in (*rule.when, *rule.any) if isinstance(one, ManyClause) and one.quantifier == "none"]
    absent = {(one.kind, "") for one in bare if not (one.where or one.check or one.finding or one.line)}
    found = {(field, subject.key) for field, _ in rule.where if subject.word(field) == UNKNOWN}
    for clause in walked.clauses:
        for read in clause.reads if clause.holds and clause.part != "unless" else ():
            if read.what == "word" and read.word == UNKNOWN:
                found.add((read.name[1], read.name[0]))
            elif read.what == "verdict" and read.word == "unmeasured":
                verdict = run.verdicts.get((read.name[0], read.name[1], read.name[2]))
                found.update((name, key) for name, key, _ in (lacks(verdict) if verdict else ()))
    return frozenset(found | {one for one in absent if all(it.kind != one[0] for it in run.subjects.values())})


def _absent(asked: _Asked) -> Iterator[Missing]:
    """Kinds of which the record lists nothing, where a rule holds the offer for it."""
    for (kind, key), rules in asked.items():
        if not key:
            yield Missing(kind, KINDS[kind].title, (), f"[[{kind}]]", (), tuple(sorted(rules)))


def _missing_readings(run: Run, asked: _Asked, what_if: WhatIf, worth: Worth) -> Iterator[Missing]:
    """Readings and numbers that a check lacks, or has in a state that does not do."""
    wanted: dict[tuple[str, str], set[str]] = {}  # (field, subject) -> checks
    notes: dict[tuple[str, str], str] = {}
    for verdict in run.verdicts.values():
        if verdict.word == "unmeasured" and verdict.time == "found":
            for name, key, note in lacks(verdict):
                if key in run.subjects and name in KINDS[run.subjects[key].kind].fields:
                    wanted.setdefault((name, key), set()).add(f"{verdict.check}@{verdict.subject}")
                    notes[name, key] = note or notes.get((name, key), "")
    several: dict[tuple[str, str, str], dict[str, tuple[Answer, ...]]] = {}
    for (name, key), checks in sorted(wanted.items()):
        kind = run.subjects[key].kind
        if KINDS[kind].fields[name].section == "derived":
            continue
        keys = [(one.partition("@")[0], "found", one.partition("@")[2]) for one in sorted(checks)]
        passes = dict.fromkeys(keys, "pass")
        others = (passes, *({**passes, one: "fail"} for one in keys))
        several.setdefault((kind, name, notes[name, key]), {})[key] = tuple(what_if.if_verdicts(one) for one in others)
    for (kind, name, note), found in several.items():
        yield _missing(KINDS[kind].fields[name], kind, found, asked, note, worth)


def lacks(verdict: Verdict) -> Iterator[tuple[str, str, str]]:
    """(field, subject, note) of everything a verdict found missing."""
    for text in verdict.missing:
        if named := _NAMED.fullmatch(text):
            yield named[1], named[2] or HOUSE_KEY, ""
        elif unfit := _UNFIT.fullmatch(text):
            yield unfit[1], verdict.subject, f"it is {unfit[2]}, not {unfit[3]}"


def _unknown_words(run: Run, asked: _Asked, what_if: WhatIf, worth: Worth) -> Iterator[Missing]:
    """Closed words that rules read and nobody has written."""
    for kind, name in sorted(words_read(run.policy)):
        field = KINDS[kind].fields[name]
        lacking = [one.key for one in run.subjects.values() if one.kind == kind and one.word(name) == UNKNOWN]
        if field.section == "derived" or not lacking:
            continue
        words = [word for word in field.words if word != UNKNOWN]
        found = {key: tuple(what_if.if_word(key, name, word) for word in words) for key in lacking}
        yield _missing(field, kind, found, asked, "", worth)


def _missing(
    field: Field, kind: str, found: Mapping[str, Sequence[Answer]], asked: _Asked, note: str, worth: Worth
) -> Missing:
    answers = [answer for several in found.values() for answer in several]
    lines = frozenset[str]().union(*(answer.lines for answer in answers))
    total = worth.span(answer.settled for answer in answers) if lines - {PROPOSAL} else None
    rules = frozenset[str]().union(*(asked.get((field.name, key), frozenset()) for key in found))
    where = _where(field, kind)
    return Missing(
        field.name, field.title, tuple(sorted(found)), where, tuple(sorted(lines)), tuple(sorted(rules)), note, total
    )


def _where(field: Field, kind: str) -> str:
    """Where the record holds a field, as its file writes it."""
    key = field.key or field.name
    if field.section == "visit":
        return f"{'[[visit]]' if kind == HOUSE_KEY else f'[[visit.{kind}]]'} {key}"
    if field.timed:
        return f"[old] {key}"
    blocks = {"item": f"[[{kind}]]", "old-blower": "[old.blower]", "new-blower": "[new.blower]"}
    return f"{blocks.get(field.section, f'[{field.section}]')} {key}"


def _odd(run: Run) -> Iterator[Question]:
    """Numbers outside their usual range."""
    usual = usual_ranges(run.policy)
    system = run.record.units
    for field, reading in _all_fields(run):
        known = usual.get(field.name)
        if known is None:
            continue
        low, high = in_units(known, field, system)
        unit = unit_of(field, system)
        value = convert(reading.value, field.unit, unit)
        if not low <= value <= high:
            said = f"{fixed(value, unit)} {unit}".removesuffix(" 1")
            title = field.title[:1].lower() + field.title[1:]
            yield Question(f"{reading.path}: {title} is {said}; usual is {low:g} to {high:g}", reading.place)


def _all_fields(run: Run) -> Iterator[tuple[Field, Reading]]:
    record, house = run.record, KINDS[HOUSE_KEY].fields
    for equipment in (record.old, record.new):
        yield from ((house[name], reading) for name, reading in equipment.items())
    for item in record.items.values():
        yield from ((KINDS[item.kind].fields[name], reading) for name, reading in item.numbers.items())
    for visit in record.visits:
        for (key, name), reading in visit.readings.items():
            yield KINDS[record.items[key].kind].fields[name], reading


def _against_each_other(run: Run) -> Iterator[Question]:
    """What rules of the stage trust found, where they did not already ask for a reading or hold the offer; notes of the air model."""
    texts = Texts(run)
    for firing in run.outcome.firings:
        rule = run.policy.rules[firing.rule]
        asks = any(then.what in ("retest", "hold") for then in rule.then)
        if rule.stage == "trust" and not asks and any(then.what == "finding" for then in rule.then):
            item = run.record.items[firing.subject]
            said = texts.say((rule.name,), firing.subject, rule.title)
            place = "" if firing.subject == HOUSE_KEY else f"{firing.subject}: "
            yield Question(f"{place}{said}", item.place)
    if run.calibration is not None:
        yield from (Question(f"{note[:1].upper()}{note[1:]}.", None) for note in run.calibration.notes)
