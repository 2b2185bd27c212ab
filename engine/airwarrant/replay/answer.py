"""What a replay says of one job: plain data that a worker sends, a journal keeps and a summary adds up."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from typing import Any, Literal

from airwarrant.replay.outcome import Outcome, Standing, Told, money
from airwarrant.result.why_prices import money_shown

Kind = Literal["added", "dropped", "resized", "repriced", "tier", "state"]
KINDS: tuple[Kind, ...] = ("added", "dropped", "resized", "repriced", "tier", "state")


@dataclass(frozen=True, slots=True)
class LineMoved:
    """One way in which a line differs.

    `before` or `after` is empty where the line is not there; of a line that comes, goes or costs otherwise the amounts are exact
    texts, empty without one.
    """

    line: str
    kind: Kind
    before: str = ""
    after: str = ""
    amount_before: str = ""
    amount_after: str = ""


@dataclass(frozen=True, slots=True)
class TaskMoney:
    """What the lines of one task come to under either policy, as exact texts; lines without a price count as nothing."""

    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One job under two policies.

    Attributes
    ----------
    job : str
        Its name among the stored jobs.
    market : str
        Of the second policy.
    sort : {"same", "moved", "apart", "failed"}
        Evaluated and the same; evaluated and otherwise; proved to be the same without the second evaluation, or any; not evaluated.
    why : str
        What went wrong, where it failed.
    before, after : str
        What the offer comes to; empty without an amount.
    tasks : mapping of task to TaskMoney
    lines : tuple of LineMoved
    stops, holds, targets : tuple of (str, str, str)
        Name and place, before and after; authority for stops and holds, the word of the test-out for targets, ``asked`` without one.
    answers : tuple of (str, str) or empty
        Whether the offer may go out, before and after, where that differs.
    safety_lost : tuple of str
        Stops, holds and lines of safety's authority that the second policy no longer asks for.
    """

    job: str
    market: str
    sort: Literal["same", "moved", "apart", "failed"]
    why: str = ""
    before: str = ""
    after: str = ""
    tasks: Mapping[str, TaskMoney] = field(default_factory=dict)
    lines: tuple[LineMoved, ...] = ()
    stops: tuple[tuple[str, str, str], ...] = ()
    holds: tuple[tuple[str, str, str], ...] = ()
    targets: tuple[tuple[str, str, str], ...] = ()
    answers: tuple[str, str] | tuple[()] = ()
    safety_lost: tuple[str, ...] = ()

    @property
    def weight(self) -> tuple[bool, Decimal, int]:
        """How much a job has moved: first whether anything but prices has, then money, then how many things."""
        apart = abs(Decimal(self.after or 0) - Decimal(self.before or 0))
        told = bool(self.stops or self.holds or self.targets or self.answers)
        otherwise = told or any(one.kind != "repriced" for one in self.lines)
        return otherwise, apart, len(self.lines) + len(self.stops) + len(self.holds) + len(self.targets)

    def as_json(self) -> dict[str, Any]:
        """Return plain data; what is empty is left out."""
        return {key: value for key, value in asdict(self).items() if value}


def answer_of(data: Mapping[str, Any]) -> Answer:
    """Return the answer that `Answer.as_json` made data of."""
    held = dict(data)
    held["tasks"] = {name: TaskMoney(**one) for name, one in held.get("tasks", {}).items()}
    held["lines"] = tuple(LineMoved(**one) for one in held.get("lines", ()))
    for name in ("stops", "holds", "targets"):
        held[name] = tuple(tuple(one) for one in held.get(name, ()))
    for name in ("answers", "safety_lost"):
        held[name] = tuple(held.get(name, ()))
    return Answer(**held)


def as_read(line: Mapping[str, Any], side: str) -> str:
    """What a line that moved was or is, as a person reads it; empty where it is not there. `side` is ``before`` or ``after``."""
    amount = line[f"amount_{side}"]
    if line["kind"] == "repriced":
        return money_shown(amount) if amount else "no price"
    return ", ".join(part for part in (line[side], money_shown(amount) if amount else "") if part)


def compared(job: str, market: str, a: Outcome, b: Outcome) -> Answer:
    """Compare what one job comes to under two policies."""
    lines = tuple(_lines(a.lines, b.lines))
    stops, holds = _told(a.stops, b.stops, ""), _told(a.holds, b.holds, "")
    targets = _told(a.targets, b.targets, "asked")
    answers = (a.answer, b.answer) if a.answer != b.answer else ()
    moved = a != b
    return Answer(
        job,
        market,
        "moved" if moved else "same",
        before=money(a.amount),
        after=money(b.amount),
        tasks=_tasks(a, b),
        lines=lines,
        stops=stops,
        holds=holds,
        targets=targets,
        answers=answers,
        safety_lost=tuple(
            f"{what} {name}"
            for what, several in (("stop", stops), ("hold", holds))
            for name, before, after in several
            if before == "safety" and after != "safety"
        ),
    )


def _lines(a: Mapping[str, Standing], b: Mapping[str, Standing]) -> Iterator[LineMoved]:
    for line in sorted({*a, *b}):
        before, after = a.get(line), b.get(line)
        if before is None or after is None:
            kind: Kind = "added" if before is None else "dropped"
            yield LineMoved(line, kind, _whole(before), _whole(after), _amount(before), _amount(after))
            continue
        for what, name in (("state", "state"), ("tier", "tier"), ("resized", "size")):
            one, other = getattr(before, name), getattr(after, name)
            if one != other:
                yield LineMoved(line, what, one or "no size", other or "no size")  # type: ignore[arg-type]
        if before.amount != after.amount:
            yield LineMoved(line, "repriced", amount_before=_amount(before), amount_after=_amount(after))


def _whole(one: Standing | None) -> str:
    if one is None:
        return ""
    state = "" if one.state == "scoped" else one.state
    return ", ".join(part for part in (one.tier, state, one.size) if part)


def _amount(one: Standing | None) -> str:
    return "" if one is None else money(one.amount)


def _told(a: Told, b: Told, there: str) -> tuple[tuple[str, str, str], ...]:
    """What is said on one side only, or otherwise; `there` stands for something that is there and says nothing of itself."""

    def said(told: Told, name: str) -> str:
        return (told[name] or there) if name in told else ""

    names = sorted({*a, *b})
    return tuple((name, said(a, name), said(b, name)) for name in names if said(a, name) != said(b, name))


def _tasks(a: Outcome, b: Outcome) -> dict[str, TaskMoney]:
    sums: dict[str, list[Decimal]] = {}
    for side, outcome in enumerate((a, b)):
        for one in outcome.lines.values():
            sums.setdefault(one.task, [Decimal(0), Decimal(0)])[side] += one.amount or Decimal(0)
    return {task: TaskMoney(money(pair[0]), money(pair[1])) for task, pair in sorted(sums.items()) if any(pair)}
