"""What one kept job adds to the owner's figures, read from its result and the acceptances of its test-outs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY

Document = Mapping[str, Any]

#: Readings of the house that are told before and after the work, and the unit they are told in.
TOLD = ("external_static", "airflow", "register_flow", "leakage_25")
#: The same, and what else a prediction is held against.
PREDICTED = (*TOLD, "power", "flow", "door_pressure")
_STATICS = ("return_static", "supply_static")
_WORK = frozenset(("recommended", "optional"))
_ACCEPT = "accept"
_DONE = frozenset(("scoped", "earlier"))


@dataclass(frozen=True, slots=True)
class LineFigures:
    """A line of work: its money and cost are None where it has no price."""

    task: str
    title: str
    done: bool
    hours: Decimal
    amount: Decimal | None
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A line somebody decided against: `rule` called for it, `by` is who decided and empty for the homeowner."""

    line: str
    rule: str
    by: str


@dataclass(frozen=True, slots=True)
class Missed:
    """How far a reading after the work lies from its prediction, in `unit`; `within` the ± of both, or None where that is unknown."""

    field: str
    title: str
    unit: str
    off: float
    within: bool | None


@dataclass(frozen=True, slots=True)
class JobFigures:
    """One job.

    Attributes
    ----------
    measured_first : bool
        A test-in on the old unit holds both statics, measured.
    no_work : bool
        No line of work is recommended or optional, held ones included.
    reread : bool
        Something must be read again before it can be sold.
    answers : tuple of str
        Of its test-outs in order: ``pass``, ``conditional``, ``fail``.
    days : int or None
        From survey to the first test-out.
    before, after : mapping of reading to float
        Of `TOLD`; before from the first visit on the old unit that has it, after from the last test-out.
    tons : (float, float) or None
        Of the old unit and of the new one.
    targets : mapping of (check, title) to bool
        Whether the last test-out met it; only those that were read.
    unsafe, made_safe : int
        Safety targets that failed before the work, and of them those met after.
    rules, checks : mapping of id to title
        Those of the policy, but for rules of acceptance, which only a test-out can call, and checks that nothing was read for.
    close : frozenset of str
        Checks that were too close to call somewhere.
    fired, near : frozenset of str
        Rules that fired anywhere; and rules that fired nowhere, and somewhere for no more than one verdict too close to call.
    """

    job: str
    market: str
    currency: str
    day: date
    measured_first: bool
    no_work: bool
    reread: bool
    answers: tuple[str, ...]
    days: int | None
    before: Mapping[str, float]
    after: Mapping[str, float]
    tons: tuple[float, float] | None
    targets: Mapping[tuple[str, str], bool]
    unsafe: int
    made_safe: int
    missed: tuple[Missed, ...]
    rules: Mapping[str, str]
    checks: Mapping[str, str]
    close: frozenset[str]
    fired: frozenset[str]
    near: frozenset[str]
    lines: tuple[LineFigures, ...]
    overridden: tuple[LeftOut, ...]
    declined: tuple[LeftOut, ...]


def figures_of(result: Document, acceptances: Sequence[Document]) -> JobFigures:
    """Read one job.

    Parameters
    ----------
    result : mapping
        A result document.
    acceptances : sequence of mapping
        Acceptance documents of its test-outs, oldest first; may be empty.
    """
    day = date.fromisoformat(result["dates"]["survey"])
    last = acceptances[-1] if acceptances else None
    trace = result["trace"]
    fired = frozenset(one["rule"] for one in trace["firings"])
    judged = [one for one in result["verdicts"] if one["word"] != "unmeasured"]
    overridden, declined = _left_out(result)
    unsafe, made_safe = _safety(last)
    return JobFigures(
        str(result["job_id"]),
        str(result["market"]["name"]),
        str(result["market"].get("currency", "")),
        day,
        _measured_first(result),
        not any(line["tier"] in _WORK for line in result["lines"]),
        any(one["when"] == "before-sale" for one in result["retests"]),
        tuple(str(one["answer"]["answer"]) for one in acceptances),
        (date.fromisoformat(acceptances[0]["dates"]["test_out"]) - day).days if acceptances else None,
        _before(result),
        _after(last),
        _tons(result),
        _targets(last),
        unsafe,
        made_safe,
        _errors(last),
        {rule: str(block["title"]) for rule, block in trace["rules"].items() if block["stage"] != _ACCEPT},
        {one["check"]: str(trace["checks"][one["check"]]["title"]) for one in judged},
        frozenset(one["check"] for one in judged if one["word"] == "close"),
        fired,
        frozenset(one["rule"] for one in trace["not_fired"] if _nearly(one.get("failed", ()))) - fired,
        tuple(_line(line) for line in result["lines"]),
        overridden,
        declined,
    )


def _nearly(failed: Sequence[Document]) -> bool:
    """Whether one clause alone kept a rule from firing, and that one read a verdict inside its guard band."""
    return len(failed) == 1 and any(one.get("word") == "close" for one in failed[0].get("reads", ()))


def _measured_first(result: Document) -> bool:
    return any(
        visit["kind"] == "test-in"
        and visit["unit"] == "old"
        and {
            one["field"] for one in visit["readings"] if one["key"] == HOUSE_KEY and one["state"] == "measured"
        }.issuperset(_STATICS)
        for visit in result["record"]["visits"]
    )


def _before(result: Document) -> dict[str, float]:
    found: dict[str, float] = {}
    for visit in result["record"]["visits"]:
        if visit["unit"] == "old" and visit["kind"] != "test-out":
            for one in visit["readings"]:
                if one["key"] == HOUSE_KEY and one["field"] in TOLD:
                    found.setdefault(one["field"], float(one["value"]))
    return found


def _after(acceptance: Document | None) -> dict[str, float]:
    return {
        one["field"]: float(one["after"]["value"])
        for one in (acceptance["readings"] if acceptance else ())
        if one["key"] == HOUSE_KEY and one["field"] in TOLD and one["after"]
    }


def _tons(result: Document) -> tuple[float, float] | None:
    old, new = (result["record"][unit].get("tons") for unit in ("old", "new"))
    return None if old is None or new is None else (float(old["value"]), float(new["value"]))


def _targets(acceptance: Document | None) -> dict[tuple[str, str], bool]:
    """A target of several places is met where it is met in all of them."""
    found: dict[tuple[str, str], bool] = {}
    for one in acceptance["targets"] if acceptance else ():
        if one["after"]:
            key = (str(one["check"]), str(one["title"]))
            found[key] = found.get(key, True) and one["status"] == "met"
    return found


def _safety(acceptance: Document | None) -> tuple[int, int]:
    failed = [
        one
        for one in (acceptance["targets"] if acceptance else ())
        if one["safety"] and one["before"] and one["before"].get("word") == "fail"
    ]
    return len(failed), sum(one["status"] == "met" for one in failed)


def _errors(acceptance: Document | None) -> tuple[Missed, ...]:
    return tuple(
        Missed(
            str(one["field"]),
            str(one["title"]),
            str(one["error"]["unit"]),
            float(one["error"]["value"]),
            None if one["error"]["in_plus_minus"] is None else abs(one["error"]["in_plus_minus"]) <= 1.0,
        )
        for one in (acceptance["readings"] if acceptance else ())
        if one["field"] in PREDICTED and one["error"]
    )


def _line(line: Document) -> LineFigures:
    price = line["price"] or {}
    amount, cost = price.get("amount") or None, price.get("cost") or None
    return LineFigures(
        str(line["task"]),
        str(line["title"]),
        line["state"] in _DONE,
        Decimal(price.get("hours") or 0),
        None if amount is None else Decimal(amount),
        None if cost is None else Decimal(cost),
    )


def _left_out(result: Document) -> tuple[tuple[LeftOut, ...], tuple[LeftOut, ...]]:
    """Lines that somebody of the firm left out, and lines that the homeowner declined."""
    rules = {one["line"]: str(one["rule"]) for one in result["declined"] if one["how"] == "left-out"}
    overridden = tuple(
        LeftOut(str(one["line"]), rules.get(one["line"], ""), str(one["by"])) for one in result["overrides"]
    )
    declined = tuple(
        LeftOut(str(one["line"]), rules.get(one["line"], ""), "")
        for one in result["choices"]
        if one.get("decision") == "declined"
    )
    return overridden, declined
