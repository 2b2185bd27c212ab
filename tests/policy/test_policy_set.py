"""`policy set`: one value, for one market, from one day; everything else in the folder stays as it is."""

import re
import tomllib
from datetime import date
from pathlib import Path

import pytest
from small_folder import HEAD, write

from airwarrant.desks.policy_save import save
from airwarrant.desks.policy_set import Planned, Wish, plan
from airwarrant.errors import InputError
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy

DAY = date(2027, 1, 1)
OWN = "companies/demo"
LIMITS = (
    HEAD
    + """
# Why the ceiling is ours.
[parameter.ceiling]          # the whole outfit's
value = 0.80   # since the new blowers
note = "Old reason."

[table.door_limit]
rows = [
  [0, 3],     # small rooms
  [150, 6],   # large rooms
]
"""
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write(tmp_path)


def _nothing(policy: Policy) -> None:
    """No further check."""


def _plan(folder: Path, name: str, value: str, row: str = "", day: date = DAY, why: str = "Tried it.") -> Planned:
    return plan((folder,), Wish("test", name, value, day, why, row), _nothing)


def _refused(folder: Path, name: str, value: str, row: str = "", **more: str) -> list[str]:
    before = _texts(folder)
    with pytest.raises(InputError) as caught:
        _plan(folder, name, value, row, **more)
    assert _texts(folder) == before
    return [f"{fault} " for fault in caught.value.faults]


def _texts(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def _value(folder: Path, on: date, name: str = "ceiling", market: str = "test") -> float | str:
    return compose(folder, market, {"survey": on}).parameters[name].value


def test_a_value_holds_from_its_day_and_not_before(folder: Path) -> None:
    planned = _plan(folder, "ceiling", "0.65")
    assert (planned.old.value, planned.old.layer, planned.new.layer) == (0.70, "regions/dry", OWN)
    save(folder, planned.files)
    assert list(planned.files) == [f"{OWN}/2027-01-01/values.toml"]
    assert [_value(folder, day) for day in (date(2026, 12, 31), DAY)] == [0.70, 0.65]
    set_by = compose(folder, "test", {"survey": DAY}).parameters["ceiling"]
    assert set_by.keys["note"].value == "Tried it."
    assert set_by.basis["kind"] == "engineering-judgement"


@pytest.mark.parametrize(
    ("day", "review"), [(date(9999, 12, 31), date(9999, 12, 31)), (date(2028, 2, 29), date(2029, 2, 28))]
)
def test_a_file_from_a_day_without_a_year_after_is_reviewed_on_the_nearest_there_is(
    folder: Path, day: date, review: date
) -> None:
    ((_, text),) = _plan(folder, "ceiling", "0.65", day=day).files.items()
    assert tomllib.loads(text)["policy"]["review_by"] == review


def test_the_same_again_writes_nothing_and_every_byte_stays(folder: Path) -> None:
    save(folder, _plan(folder, "ceiling", "0.65").files)
    before = _texts(folder)
    assert _plan(folder, "ceiling", "0.65").files == {}
    assert _plan(folder, "ceiling", "0.70", day=date(2026, 6, 1)).files == {}
    assert _texts(folder) == before


def test_a_file_that_holds_the_value_keeps_its_comments_and_its_other_lines(folder: Path) -> None:
    name = f"{OWN}/2027-01-01/limits.toml"
    write(folder, {name: LIMITS})
    planned = _plan(folder, "ceiling", "0.75")
    assert list(planned.files) == [name]
    text = planned.files[name]
    for comment in ("# Why the ceiling is ours.", "# the whole outfit's", "# since the new blowers", "# small rooms"):
        assert comment in text
    wanted = tomllib.loads(LIMITS)
    wanted["parameter"]["ceiling"] = {"value": 0.75, "note": "Tried it.", "basis": {"kind": "engineering-judgement"}}
    assert tomllib.loads(text) == wanted
    assert [line for line in text.splitlines() if "ceiling" in line or "rows" in line] == [
        line for line in LIMITS.splitlines() if "ceiling" in line or "rows" in line
    ]


def test_one_row_of_a_table_changes_and_the_others_stay(folder: Path) -> None:
    name = f"{OWN}/2027-01-01/limits.toml"
    write(folder, {name: LIMITS})
    planned = _plan(folder, "door_limit", "5 Pa", "150 cfm")
    assert tomllib.loads(planned.files[name])["table"]["door_limit"]["rows"] == [[0, 3], [150, 5]]
    assert "# large rooms" in planned.files[name]
    fresh = _plan(folder, "door_limit", "4", "0", day=date(2028, 1, 1))
    assert tomllib.loads(fresh.files[f"{OWN}/2028-01-01/values.toml"])["table"]["door_limit"]["rows"] == [
        [0, 4],
        [150, 6],
    ]


@pytest.mark.parametrize(
    ("typed", "written"),
    # 1 in. w.c. is 249.08891 Pa (NIST SP 811, 2008, appendix B.8, conventional inch of water).
    [("0.65", 0.65), ("0.65 in. w.c.", 0.65), ("160 Pa", 160 / 249.08891), (".5", 0.5), ("1", 1)],
)
def test_a_quantity_in_another_unit_is_converted_and_said(folder: Path, typed: str, written: float) -> None:
    planned = _plan(folder, "ceiling", typed)
    assert planned.new.value == pytest.approx(written, rel=1e-5)
    assert bool(planned.said) == ("Pa" in typed)


@pytest.mark.parametrize(
    ("name", "value", "row", "code"),
    [
        ("ceiling", "0,65", "", "not-a-number"),
        ("ceiling", "much", "", "not-a-number"),
        ("ceiling", "1e99", "", "not-a-number"),
        ("ceiling", "nan", "", "not-a-number"),
        ("ceiling", "5 ft", "", "unit-mismatch"),
        ("ceiling", "10%", "", "unit-mismatch"),
        ("ceiling", "5 furlong", "", "unknown-unit"),
        ("moment", "someday", "", "not-a-choice"),
        ("cieling", "0.65", "", "unknown-name"),
        ("find.tight", "1", "", "not-a-value"),
        ("per_code", "5", "", "code-value"),
        ("door_limit", "5", "", "no-row"),
        ("door_limit", "5", "75", "unknown-row"),
        ("draft_limit", "-6", "chimney", "unknown-row"),
        ("ceiling", "0.65", "0", "no-rows"),
        ("co_stop", "36", "", "right-breached"),
        ("draft_limit", "-4", "with-furnace", "right-breached"),
    ],
)
def test_what_may_not_be_is_refused_and_nothing_is_left_behind(
    folder: Path, name: str, value: str, row: str, code: str
) -> None:
    assert any(f"[{code}]" in fault for fault in _refused(folder, name, value, row))


def test_a_locked_value_is_refused_with_both_places_and_may_become_stricter(folder: Path) -> None:
    told = " ".join(_refused(folder, "co_stop", "40"))
    assert re.search(rf"{OWN}/2027-01-01/values.toml:\d+:\d+: .* \(set at trade/2026-01-01/all.toml:\d+:\d+\)", told)
    assert _plan(folder, "co_stop", "20").new.value == 20


def test_a_market_without_a_layer_of_its_own_gets_one_that_no_other_market_names(folder: Path) -> None:
    market = (folder / "markets/test.toml").read_text()
    write(folder, {"markets/other.toml": market, "markets/test.toml": "# ours\n" + market})
    planned = _plan(folder, "ceiling", "0.65")
    assert planned.new_layer
    assert list(planned.files)[-1] == "markets/test.toml"
    save(folder, planned.files)
    assert (folder / "markets/test.toml").read_text().startswith("# ours\n")
    days = (date(2026, 6, 1), DAY)
    assert [_value(folder, day) for day in days] == [0.70, 0.65]
    assert [_value(folder, day, market="other") for day in days] == [0.70, 0.70]


def test_layers_of_another_folder_are_never_written(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    mine = tmp_path_factory.mktemp("mine")
    before = _texts(folder)
    planned = plan((mine, folder), Wish("test", "ceiling", "0.65", DAY, "Tried it."), _nothing)
    save(mine, planned.files)
    assert _texts(folder) == before
    assert compose((mine, folder), "test", {"survey": DAY}).parameters["ceiling"].value == 0.65
    assert compose((mine, folder), "test", {"survey": date(2026, 1, 1)}).parameters["ceiling"].value == 0.70


def test_a_later_layer_that_sets_the_value_calls_for_a_layer_after_it(folder: Path) -> None:
    layers = '["trade", "regions/dry", "companies/demo"]'
    market = (folder / "markets/test.toml").read_text().replace(layers, '["trade", "companies/demo", "regions/dry"]')
    write(folder, {"markets/test.toml": market})
    assert _plan(folder, "ceiling", "0.65").new.layer == "regions/dry"


def test_a_day_on_which_the_value_changes_again_is_said(folder: Path) -> None:
    write(folder, {f"{OWN}/2028-01-01/more.toml": HEAD + "[parameter.ceiling]\nvalue = 0.9\n"})
    planned = _plan(folder, "ceiling", "0.65")
    assert [(one.effective, one.value) for one in planned.later] == [("2028-01-01", 0.9)]


@pytest.mark.parametrize("why", ["", "  ", "two\nlines", "x" * 1001])
def test_a_reason_is_one_line_of_text(folder: Path, why: str) -> None:
    assert any("[why]" in fault for fault in _refused(folder, "ceiling", "0.65", why=why))


def test_a_reason_may_hold_quotes_and_signs(folder: Path) -> None:
    why = 'He said "no" \\ [x] # y = 1 ñ'
    save(folder, _plan(folder, "ceiling", "0.65", why=why).files)
    assert compose(folder, "test", {"survey": DAY}).parameters["ceiling"].keys["note"].value == why


def test_files_are_written_all_or_none(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("old")
    (tmp_path / "b").write_text("a file where a folder is wanted")
    with pytest.raises(InputError, match="cannot-write"):
        save(tmp_path, {"a.toml": "new", "c/d/e.toml": "new", "b/c.toml": "new"})
    assert _texts(tmp_path) == {"a.toml": b"old", "b": b"a file where a folder is wanted"}
    assert not (tmp_path / "c").exists()
