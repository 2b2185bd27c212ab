"""What a policy change comes to on the shipped scenarios: lines added, dropped, otherwise, and money."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from airwarrant.desks.depends import shipped_jobs
from airwarrant.job.reading_records import read_job
from airwarrant.job.record import JobRecord
from airwarrant.session import Session


@dataclass(frozen=True, slots=True)
class LineMoved:
    """A line that stands otherwise; `before` or `after` is empty where it does not stand."""

    line: str
    title: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Effect:
    """What becomes of one job; amounts are empty where the price book gives none.

    `on` is the day the job was taken as proposed, where its own lies before the change.
    """

    job: str
    on: str
    lines: tuple[LineMoved, ...]
    verdicts: tuple[str, ...]
    answer_before: str
    answer_after: str
    amount_before: str
    amount_after: str

    @property
    def same(self) -> bool:
        """Whether nothing an offer shows has moved."""
        return not self.lines and self.answer_before == self.answer_after and self.amount_before == self.amount_after


def scenarios_of(market: str) -> tuple[JobRecord, ...]:
    """Return the shipped jobs of a market, or all of them for a market that none names."""
    records = tuple(read_job(path) for _, path in shipped_jobs())
    return tuple(record for record in records if record.market == market) or records


def effects(
    before: Sequence[Path],
    after: Sequence[Path],
    market: str,
    from_day: date,
    records: Sequence[JobRecord],
    done: Callable[[int, int], object] = lambda at, of: None,
) -> tuple[Effect, ...]:
    """Evaluate jobs before and after a change and say what differs.

    Parameters
    ----------
    before, after : sequence of Path
        Policy folders without and with the change.
    market : str
    from_day : date
        First day of the change; a job of an earlier date is taken as one of this day, before and after.
    records : sequence of JobRecord
    done : callable of (int, int)
        Told after each job how many of how many are done.
    """
    found: list[Effect] = []
    with Session(before) as old, Session(after) as new:
        for record in records:
            moved = replace(record, dates={name: _late(day, from_day) for name, day in record.dates.items()})
            shifted = from_day.isoformat() if moved.dates != record.dates else ""
            found.append(
                _effect(record.id, shifted, old.evaluate(moved, market=market), new.evaluate(moved, market=market))
            )
            done(len(found), len(records))
    return tuple(found)


def _late(day: date | None, from_day: date) -> date | None:
    return day if day is None or day >= from_day else from_day


def _effect(job: str, on: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Effect:
    old, new = _lines(before), _lines(after)
    titles = {line["id"]: line["title"] for result in (before, after) for line in result["lines"]}
    words = {verdict["id"]: verdict["word"] for verdict in before["verdicts"]}
    moved = [line for line in titles if old.get(line, "") != new.get(line, "")]
    return Effect(
        job=job,
        on=on,
        lines=tuple(LineMoved(line, titles[line], old.get(line, ""), new.get(line, "")) for line in sorted(moved)),
        verdicts=tuple(
            f"{verdict['id']}: {words[verdict['id']]} → {verdict['word']}"
            for verdict in after["verdicts"]
            if words.get(verdict["id"], verdict["word"]) != verdict["word"]
        ),
        answer_before=before["sellable"]["answer"],
        answer_after=after["sellable"]["answer"],
        amount_before=str(before["totals"].get("amount") or ""),
        amount_after=str(after["totals"].get("amount") or ""),
    )


def _lines(result: Mapping[str, Any]) -> dict[str, str]:
    """Each line that stands, as tier, size and state."""
    return {
        line["id"]: ", ".join(
            part
            for part in (
                line["tier"],
                *(size["text"] for size in line["sizes"] or ()),
                "" if line["state"] == "scoped" else line["state"],
            )
            if part
        )
        for line in result["lines"]
    }
