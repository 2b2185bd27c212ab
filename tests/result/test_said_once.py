"""What a result says of one thing it says once, and of a line left out what is true of it."""

from airwarrant.result.declined import READ_ALREADY
from jobs import JOBS, data, scope


def test_a_line_that_takes_a_reading_is_left_out_because_the_reading_is_there() -> None:
    result = scope(data("1042"))
    entry = next(one for one in result["declined"] if one["task"] == "leakage-test")
    leakage = next(one for one in result["verdicts"] if one["id"] == "leakage@house/found")
    assert leakage["word"] == "fail"
    assert entry["because"] == READ_ALREADY


def test_a_hold_stands_once_on_a_line_it_keeps_back_alone_and_with_its_group() -> None:
    record = data("1042")
    record["house"]["asbestos_suspect"] = "yes"
    for result in (scope(record), *(scope(data(job)) for job in JOBS)):
        for line in result["lines"]:
            held = [(one["name"], one["rule"], one["subject"]) for one in line["held_by"]]
            assert len(held) == len(set(held)), line["id"]
        for hold in result["holds"]:
            assert len(hold["lines"]) == len(set(hold["lines"])), hold["name"]
