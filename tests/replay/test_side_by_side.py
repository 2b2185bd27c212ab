"""Two reason trees side by side: every row stands, what only one side says is marked, and what is folded both sides say.

The oracle is the list of rows itself, gone over without nesting.
"""

from hypothesis import given
from hypothesis import strategies as st

from airwarrant.replay.side_by_side import Beside, beside
from airwarrant.result.why_rows import Row


@st.composite
def _trees(draw: st.DrawFn) -> list[Row]:
    rows, depth = [Row(0, draw(st.sampled_from("ab")))], 0
    for _ in range(draw(st.integers(0, 12))):
        depth = draw(st.integers(1, depth + 1))
        rows.append(Row(depth, draw(st.sampled_from("abcdef"))))
    return rows


def _below(rows: list[Row], at: int) -> list[str]:
    end = next((n for n in range(at + 1, len(rows)) if rows[n].depth <= rows[at].depth), len(rows))
    return [row.text for row in rows[at:end]]


@given(_trees(), _trees())
def test_rows_keep_their_order_and_marks(rows: list[Row], others: list[Row]) -> None:
    said = {row.text for row in others}
    found = list(beside(rows, others))
    assert [one.row for one in found] == rows
    for at, one in enumerate(found):
        assert one.alike == (rows[at].text in said)
        if one.folded:
            assert set(_below(rows, at)) <= said


@given(_trees(), _trees())
def test_every_level_that_opens_closes_as_it_opened(rows: list[Row], others: list[Row]) -> None:
    open_: list[Beside] = []
    for one in beside(rows, others):
        for folded in one.closing:
            assert open_.pop().folded == folded
        if one.inward:
            open_.append(one)
    assert not open_


def test_beside_nothing_no_row_is_marked_or_folded() -> None:
    rows = [Row(0, "line"), Row(1, "rule"), Row(2, "check")]
    assert all(one.alike and not one.folded for one in beside(rows, ()))
