"""Decisions on lines of a result, written into the job record; the scope follows when the record is evaluated again.

A homeowner accepts or declines a line; a person of the firm leaves one out with a reason and a name. What safety or code requires
cannot be left out, nor can what the papers promise, and what is held cannot be accepted: nobody decides against a hazard.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from airwarrant.errors import CallError, Fault, RecordError, nearest
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord

How = Literal["accepted", "declined", "left-out"]
Evaluate = Callable[[JobRecord], Mapping[str, Any]]


_DRAFT = Fault(
    "draft",
    "the result is a draft: local facts of its market are not filled in, and nothing of it is on offer",
    advice="Fill them in and run again; with --draft it is decided all the same, and the record says so.",
)


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided of one line. `reason` and `by` are needed where the firm leaves it out; of a choice, a reason is a remark."""

    line: str
    how: How
    reason: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Followed:
    """A line that stands otherwise after the decisions; `why` names what holds it, the rule that asks for it, or what it follows from."""

    line: str
    before: str
    after: str
    why: str


@dataclass(frozen=True, slots=True)
class Decided:
    """The record with the decisions in it, the result of it, and what follows from them."""

    text: bytes
    result: Mapping[str, Any]
    followed: tuple[Followed, ...]


def decide(
    result: Mapping[str, Any],
    text: bytes,
    file: str,
    decisions: Iterable[Decision],
    evaluate: Evaluate,
    *,
    draft: bool = False,
) -> Decided:
    """Write decisions into a record and evaluate it again.

    Parameters
    ----------
    result : mapping
        The result document the decisions speak of.
    text : bytes
        The record it was made from; TOML keeps its text and comments, blocks are added at its end.
    file : str
        The record's name; its ending says whether it is TOML or JSON.
    decisions : iterable of Decision
    evaluate : callable
        Gives the result document of a record.
    draft : bool
        Whether a result may be decided on whose market has local facts that are not filled in; the record then says so.

    Raises
    ------
    CallError
        With every decision that cannot be taken, and why; then nothing of it is to be written.
    RecordError
        If the record cannot be read.
    """
    decisions = tuple(decisions)
    record = parse_job(text, file)
    is_draft = bool(result["market"].get("draft"))
    if is_draft and not draft:
        raise CallError([_DRAFT])
    faults = [*_stale(result, record), *_refused(result, record, decisions)]
    if faults:
        raise CallError(faults)
    written = tuple(_on_draft(one) for one in decisions) if is_draft else decisions
    added = with_decisions(text, file, written, str(result["digests"]["job"]))
    try:
        after = evaluate(parse_job(added, file))
    except RecordError as error:
        raise CallError([_not_added(fault) for fault in error.faults]) from error
    faults = list(_overruled(after, decisions))
    if faults:
        raise CallError(faults)
    return Decided(added, after, tuple(_followed(result, after, decisions)))


def _on_draft(one: Decision) -> Decision:
    return replace(one, reason=f"{one.reason} (decided on a draft)".strip())


def with_decisions(text: bytes, file: str, decisions: Iterable[Decision], digest: str) -> bytes:
    """Return a record's text with one block a decision: in TOML added at the end, in JSON put into its lists."""
    if file.lower().endswith(".json"):
        data = json.loads(text)
        for one in decisions:
            block = _block(one)
            data.setdefault("override" if one.how == "left-out" else "choice", []).append(block)
        return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()
    end = "\r\n" if b"\r\n" in text else "\n"
    lines = [f"# Decided on the result of record {digest[:12]}."]
    for one in decisions:
        lines += ["[[override]]" if one.how == "left-out" else "[[choice]]"]
        # A JSON string is a TOML string: the same quotes and the same escapes.
        lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in _block(one).items()]
        lines += [""]
    before = text.decode().rstrip("\r\n")
    return (before + 2 * end + end.join(lines)).encode()


def _block(one: Decision) -> dict[str, str]:
    block = {"line": one.line, "decision": one.how}
    if one.how == "left-out":
        return {**block, "reason": one.reason, "by": one.by}
    remark = ", ".join(filter(None, (one.reason, one.by)))
    return {**block, **({"note": remark} if remark else {})}


def _stale(result: Mapping[str, Any], record: JobRecord) -> Iterator[Fault]:
    if result["digests"]["job"] != record.digest:
        found = f"`{record.file}` is not the record this result was made from, or has changed since"
        yield Fault(
            "record-changed", found, "the record as it was", advice="Run it again, and decide on the new result."
        )


def _refused(result: Mapping[str, Any], record: JobRecord, decisions: tuple[Decision, ...]) -> Iterator[Fault]:
    """What can be refused before anything is evaluated."""
    if not decisions:
        yield Fault(
            "no-decision",
            "nothing was decided",
            "a line",
            advice="Give --accept, --decline or --leave-out with a line.",
        )
    lines = {line["id"]: line for line in result["lines"]}
    left_out = {one["line"]: one for one in result["declined"]}
    before = {one.line: one.place for one in record.choices if one.line}
    before |= {one.line: one.place for one in record.overrides}
    seen: set[str] = set()
    for one in decisions:
        if one.line in seen:
            yield Fault("decided-twice", f"{one.line} is decided twice", "one decision a line")
        seen.add(one.line)
        if one.line in before:
            found = f"the record already decides {one.line} at {before[one.line]}"
            yield Fault("decided-already", found, advice="Take that block out first, and run again.")
        elif one.line in left_out:
            how = left_out[one.line]["how"]
            found = f"{one.line} is not on the scope ({how}): there is nothing to accept or to leave out"
            advice = f"`airwarrant why RESULT {one.line}` says why."
            yield Fault("not-in-scope", found, advice=advice)
        elif one.line not in lines:
            known = ", ".join(lines)
            yield Fault("no-line", f"the result has no line {one.line}", known, advice=nearest(one.line, lines))
        else:
            yield from _of_line(result, lines[one.line], one)


def _of_line(result: Mapping[str, Any], line: Mapping[str, Any], one: Decision) -> Iterator[Fault]:
    if line["state"] == "held":
        until = "; ".join(dict.fromkeys(hold["until"] for hold in line["held_by"]))
        found = f"{one.line} is held until {until}"
        yield Fault("held", found, "a line that is offered", advice="A hold is cleared, not decided away.")
    if one.how == "accepted" and result["stops"]:
        said = " ".join(stop["said"] for stop in result["stops"])
        yield Fault("stopped", f"no line can be accepted while this stands: {said}")
    if one.how == "left-out":
        lacking = [f"--{name}" for name, text in (("reason", one.reason), ("by", one.by)) if not text.strip()]
        if lacking:
            found = f"{one.line} is left out against the rules without {' and '.join(lacking)}"
            yield Fault("no-reason", found, "a reason and a name")


def _overruled(after: Mapping[str, Any], decisions: tuple[Decision, ...]) -> Iterator[Fault]:
    """Decisions that did not take: the line is required or promised, or an accepted line waits for one that was declined."""
    lines = {line["id"]: line for line in after["lines"]}
    rules = after["trace"]["rules"]
    for one in decisions:
        line = lines.get(one.line)
        if one.how != "accepted" and line is not None and line["state"] in ("scoped", "held"):
            yield _kept(line, str(rules[line["rule"]]["authority"]))
        elif one.how == "accepted" and (line is None or line["state"] != "scoped"):
            why = _why(line) if line else "it is no longer on the scope"
            found = f"{one.line} cannot be accepted with these decisions: {why}"
            yield Fault("waits", found, advice="Accept what it waits for too, or decline both.")


def _kept(line: Mapping[str, Any], authority: str) -> Fault:
    """Why a line stays although it was decided away: safety or code requires it, or what the papers promise rests on it."""
    if authority in ("safety", "code"):
        found = f"{line['id']} is required by rule {line['rule']}, for safety or by code"
        advice = "A hazard or the law is not decided away; a wrong reading is mended where it stands."
        return Fault("required", found, "lines that are not required", advice=advice)
    found = f"{line['id']} is promised in every paper of the job, and the warranty rests on its readings"
    advice = "Leave out other work if the job is to be smaller; the readings stay."
    return Fault("promised", found, "lines that are not promised", advice=advice)


def _followed(
    before: Mapping[str, Any], after: Mapping[str, Any], decisions: tuple[Decision, ...]
) -> Iterator[Followed]:
    then = {line["id"]: line for line in before["lines"]}
    now = {line["id"]: line for line in after["lines"]}
    out = {one["line"]: one for one in after["declined"]}
    decided = {one.line for one in decisions}
    caused = ", ".join(f"{one.line} {one.how}" for one in decisions if one.how != "accepted")
    for line in (*then, *(new for new in now if new not in then)):
        old = then[line]["state"] if line in then else "not on the scope"
        new = now[line]["state"] if line in now else out[line]["how"] if line in out else "no longer called for"
        if old != new:
            follows = f"follows from {caused}" if caused else ""
            if line in now:
                why = _why(now[line]) or f"rule {now[line]['rule']}" + (f"; {follows}" if follows else "")
            else:
                why = "" if line in decided else str(out.get(line, {}).get("because") or follows)
            yield Followed(line, old, new, why)


def _why(line: Mapping[str, Any]) -> str:
    return "; ".join(
        f"waits for {hold['name'].removeprefix('needs:')}" if hold["name"].startswith("needs:") else hold["until"]
        for hold in line["held_by"]
    )


def _not_added(fault: Fault) -> Fault:
    """A fault of the record that only the added blocks can have made."""
    advice = fault.advice or "Write the decision into the record by hand."
    return Fault(fault.code, fault.found, fault.allowed, fault.place, fault.field, advice)
