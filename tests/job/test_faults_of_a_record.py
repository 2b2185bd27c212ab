"""A record that is wrong in many ways is answered once, each fault with its place, field and what may stand there."""

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from whole_record import WHOLE, as_json, whole

from airwarrant.errors import Fault, RecordError
from airwarrant.job.reading_records import parse_job, read_job

WRONG = {
    'market = "copper-basin"\n': "",
    "job/1": "job/2",
    "= 1720": '= "1720"',
    "year_built = 1994": "year_built = true",
    'runs = "yes"': "runs = true",
    'form = "package-roof"\nfuel': 'form = "packge roof"\nfuel',
    "tons = 3.5": "ton = 3.5",
    "-0.48": "0.48",
    "[0.4, 1285]": "[0.4, 1385]",
    "[[0.2, 1600], [0.3, 1555]]": "[[0.2, 1600], [0.2, 1555]]",
    'name = "high"\ntable = [[0.2': 'name = "medium"\ntable = [[0.2',
    'id = "bath"': 'id = "bed-2"',
    'zone = "closet"': 'zone = "closett"',
    "date = 2026-07-15": "date = 2026-07-15T10:00:00",
    "value = 7.2": "value = true",
    "plus_minus = 0.03": "plus_minus = -0.03",
    '"manometer-2", time = "10:40"': '"manometr-2", time = "25:00"',
    "flow = 81": "flow = 8100\ndiameter = 3",
    'by = "estimator-1"': "",
    "target = 90": "target = 90\nflow = 3",
    '[[visit.elbow]]\nid = "roof-elbow"': '[[visit.elbow]]\nid = "bed-2"',
    'state = "table"': 'state = "guessed"',
    "accepted = true\n": "",
    "@roof-elbow": "@rof-elbow",
}


def wrong(changes: dict[str, str]) -> str:
    text = WHOLE
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def faults(text: str | bytes, file: str = "job.toml") -> dict[str, Fault]:
    with pytest.raises(RecordError) as caught:
        parse_job(text.encode() if isinstance(text, str) else text, file)
    return {f"{fault.field} {fault.code}": fault for fault in caught.value.faults}


def test_one_report_holds_every_fault() -> None:
    assert set(faults(wrong(WRONG))) == {
        "market missing-key",
        "format unknown-word",
        "house.floor_area not-a-number",
        "house.year_built not-a-number",
        "old.runs unknown-word",
        "new.form unknown-word",
        "old.ton unknown-key",
        "visit[0].return_static out-of-range",
        "old.blower.setting[high].table[1][1] not-falling",
        "new.blower.setting[medium].name duplicate-name",
        "new.blower.setting[medium].table[1][0] not-rising",
        "room[bed-2].id duplicate-id",
        "appliance[water-heater].zone unknown-id",
        "visit[1].date not-a-date",
        "visit[0].room[bed-2].door_pressure not-a-number",
        "visit[0].return_static.plus_minus out-of-range",
        "visit[0].return_static.instrument unknown-id",
        "visit[0].return_static.time wrong-form",
        "visit[1].room[bed-2].flow out-of-range",
        "visit[1].room[bed-2].diameter unknown-key",
        "override[0].by missing-key",
        "room[bed-2].flow unknown-key",
        "visit[0].elbow[bed-2].id wrong-kind",
        "visit[0].airflow.state unknown-word",
        "choice[0] half-choice",
        "choice[1].line unknown-id",
    }


def test_each_fault_stands_where_it_was_written_and_says_what_may_stand_there() -> None:
    text = wrong(WRONG)
    lines = text.split("\n")
    for fault in faults(text).values():
        assert fault.place is not None
        assert fault.place.file == "job.toml"
        assert fault.allowed
        assert lines[fault.place.line - 1][fault.place.column - 1 :]


def test_a_fault_gives_advice_where_there_is_one() -> None:
    found = faults(wrong(WRONG))
    assert "hoses were swapped" in found["visit[0].return_static out-of-range"].advice
    assert found["visit[0].return_static out-of-range"].allowed == "-2 to 0 in. w.c."
    assert found["old.ton unknown-key"].advice == "Did you mean `tons`?"
    assert found["new.form unknown-word"].advice == "Did you mean `package-roof`?"
    assert found["appliance[water-heater].zone unknown-id"].advice == "Did you mean `closet`?"
    assert found["room[bed-2].flow unknown-key"].advice == "`flow` belongs in [[visit.room]]"
    assert found["old.runs unknown-word"].advice == 'Write "yes"'
    assert found["house.floor_area not-a-number"].advice == "Write the number without quotes"
    assert "first one" in found["room[bed-2].id duplicate-id"].advice
    assert found["override[0].by missing-key"].found == "`by` is missing in `override[0]`"


def test_no_word_of_the_shape_library_reaches_the_user() -> None:
    data = whole()
    data |= {"room": 3, "zone": [4], "new": 5, "visit": {"kind": 1}, "house": None, "dates": "2026-07-14", "id": 1042}
    data["old"]["blower"]["setting"] = [{"name": "high", "table": [[0.1], [0.2, 1, 2], 3]}, {"table": []}]
    text = "\n".join(map(str, faults(as_json(data), "job.json").values()))
    for foreign in ("Input should", "pydantic", "valid", "Field required", "None", "Extra inputs", "dict"):
        assert foreign not in text


@pytest.mark.parametrize("text", [b"", b'units = "ip"', b"visit = [1, [2], {}]\nroom = 1\nold = { blower = 3 }"])
def test_a_record_of_another_shape_is_refused_whole(text: bytes) -> None:
    assert len(faults(text)) >= 4


def test_with_unknown_units_no_range_is_judged() -> None:
    found = faults(wrong({'units = "ip"': 'units = "metric"', "-0.48": "-120.0"}))
    assert set(found) == {"units unknown-word"}


def test_the_range_is_told_in_the_units_of_the_record() -> None:
    data = json.loads(as_json(whole()))
    data["units"] = "si"
    found = faults(as_json(data), "job.json")
    assert found["house.floor_area out-of-range"].allowed == "18.5806 to 743.224 m2"


def test_a_syntax_fault_is_a_fault_of_the_record() -> None:
    assert set(faults(wrong({"-0.48": "-0,48"}))) == {" decimal-comma"}


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"[[0.2, 1500], [0.3, 1455]]": "[[0.2, 1500]]"}, "new.blower.setting[medium].table too-few"),
        ({'id = "bath"': 'id = "house"'}, "room[house].id duplicate-id"),
        ({'id = "bath"': 'id = "Bath 1"'}, "room[Bath 1].id wrong-form"),
        ({'[[visit.room]]\nid = "bed-2"': '[[visit.room]]\nid = "bed-3"'}, "visit[0].room[bed-3].id unknown-id"),
        ({"survey = 2026-07-14, ": ""}, "dates.survey missing-key"),
        ({"demo = true": 'demo = "true"'}, "demo not-a-flag"),
        ({'by = "estimator-1"': 'by = " "'}, "override[0].by empty-text"),
        ({'line = "add-return@house"': 'line = "add return"'}, "override[0].line wrong-form"),
        ({"dates = {": "age = 3\ndates = {"}, "age unknown-key"),
        ({'told = "': 'told = "\\u001b[31m'}, "house.told bad-text"),
    ],
)
def test_a_single_fault_is_named(change: dict[str, str], expected: str) -> None:
    assert set(faults(wrong(change))) == {expected}


def test_an_item_listed_twice_in_a_visit_is_refused() -> None:
    twice = {"[[visit.elbow]]": '[[visit.room]]\nid = "bed-2"\noffset = 1\n[[visit.elbow]]'}
    assert [key.split()[1] for key in faults(wrong(twice))] == ["duplicate-id"]


def test_no_blower_moves_more_air_against_more_static() -> None:
    change = {"[0.4, 1285]": "[0.4, 1385]", 'kind = "fixed-speed"': 'kind = "constant-airflow"'}
    assert [key.split()[1] for key in faults(wrong(change))] == ["not-falling"]
    flat = {"[0.4, 1285]": "[0.4, 1330]", 'kind = "fixed-speed"': 'kind = "constant-airflow"'}
    assert parse_job(wrong(flat).encode(), "job.toml").old_blower


def test_a_file_that_cannot_be_read_is_a_fault(tmp_path: Path) -> None:
    for name in ("absent.toml", "job.yaml"):
        if name == "job.yaml":
            (tmp_path / name).write_text("a")
        with pytest.raises(RecordError, match=name):
            read_job(tmp_path / name)


def test_any_damage_to_the_data_of_a_record_gives_a_record_or_a_record_error() -> None:
    random = Random(7)
    junk = [
        None,
        True,
        3,
        -1e300,
        "",
        "x",
        "bed-2",
        [],
        [1],
        {},
        {"id": []},
        {"value": {}},
        [{"id": "bed-2"}],
        [[1, 2]],
    ]
    for _ in range(250):
        data = json.loads(as_json(whole()))
        for _ in range(random.randint(1, 3)):
            damage(data, random, junk)
        try:
            parse_job(as_json(data), "job.json")
        except RecordError as error:
            sound = [fault for fault in error.faults if fault.place and fault.code and fault.found]
            assert len(sound) == len(error.faults) > 0


def damage(node: Any, random: Random, junk: list[Any]) -> None:
    while True:
        key = random.choice(list(node)) if isinstance(node, dict) else random.randrange(len(node))
        if isinstance(node[key], dict | list) and node[key] and random.random() < 0.8:
            node = node[key]
            continue
        if random.random() < 0.2 and isinstance(node, dict):
            node["extra"] = random.choice(junk)
        else:
            node[key] = random.choice(junk)
        return
