"""Which jobs are told first, and which are named beside a count: by hand, for answers made here."""

from dataclasses import asdict
from decimal import Decimal
from itertools import permutations

import pytest

from airwarrant.replay.answer import Answer, LineMoved, as_read
from airwarrant.replay.compare_jobs import Done
from airwarrant.replay.summary import MOST_NAMED, Summary


def _repriced(job: str, by: int) -> Answer:
    line = LineMoved("seal-ducts@house", "repriced", amount_before="100.00", amount_after=f"{100 + by}.00")
    return Answer(job, "m", "moved", before="100.00", after=f"{100 + by}.00", lines=(line,))


def _added(job: str) -> Answer:
    return Answer(
        job, "m", "moved", before="1.00", after="1.00", lines=(LineMoved("seal-ducts@house", "added", "", "required"),)
    )


def _told(*answers: Answer) -> Summary:
    summary = Summary()
    for answer in answers:
        summary.add(Done(answer))
    return summary


def test_what_moved_otherwise_than_in_price_comes_before_any_money() -> None:
    targets = Answer("test-out", "m", "moved", before="1.00", after="2.00", targets=(("door@bed", "", "asked"),))
    answers = _repriced("dear", 900), _added("line"), targets, _repriced("cheap", 5)
    for order in permutations(answers):
        assert [one.job for one in _told(*order).most] == ["test-out", "line", "dear", "cheap"]


def test_a_few_jobs_are_named_in_whatever_order_they_come() -> None:
    answers = [_added(f"job-{k}") for k in range(5)]
    for order in (answers, answers[::-1]):
        summary = _told(*order, _repriced("a", 5))
        assert summary.line_jobs["seal-ducts", True] == [f"job-{k}" for k in range(MOST_NAMED)]
        assert summary.line_jobs["seal-ducts", False] == ["a"]
    assert summary.lines["seal-ducts", "added"] == 5
    assert summary.markets["m"].difference == Decimal(5)


@pytest.mark.parametrize(
    ("line", "read"),
    [
        (LineMoved("a@house", "repriced", amount_before="1070.00", amount_after="1150.00"), ("1,070", "1,150")),
        (LineMoved("a@house", "repriced", amount_after="1070.00"), ("no price", "1,070")),
        (
            LineMoved("a@house", "added", after="required, 14 in", amount_after="1070.50"),
            ("", "required, 14 in, 1,070.50"),
        ),
        (LineMoved("a@house", "dropped", before="optional"), ("optional", "")),
        (LineMoved("a@house", "resized", "2.25", "1,200.00"), ("2.25", "1,200.00")),
    ],
)
def test_an_amount_is_read_as_elsewhere(line: LineMoved, read: tuple[str, str]) -> None:
    assert (as_read(asdict(line), "before"), as_read(asdict(line), "after")) == read
