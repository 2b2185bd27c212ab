"""Edge cases of the trade that no policy case can show; the others are cases. All are listed in ``policies/cases/edges.toml``."""

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from airwarrant.errors import PolicyError
from airwarrant.policy.cases import read_cases
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from house.house_of import ELBOW, RETURN, demo, gain
from jobs import POLICIES, data, item, scope, states

Result = dict[str, Any]
HEAD = '[policy]\ntitle = "Trial"\nreview_by = 2027-01-01\n'


def _house(result: Result, reading: str) -> float:
    return float(result["predictions"]["scope"]["readings"]["house"][reading]["value"])


def _verdict(result: Result, check: str) -> Result:
    return next(v for v in result["verdicts"] if v["id"] == f"{check}@house/found")


def _promised(result: Result, check: str) -> float | None:
    return next((one["limit"] for one in result["acceptance"] if one["check"] == check), None)


def _at(altitude: float, job: str) -> Result:
    record = data(job)
    record["house"]["altitude"] = altitude
    return scope(record)


def _market(folder: Path, layers: list[str], files: dict[str, str]) -> tuple[Path, Path]:
    """A folder with a market `trial` and files of its own, before the shipped one."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(HEAD + text)
    (folder / "markets").mkdir(exist_ok=True)
    (folder / "markets" / "trial.toml").write_text(
        f'[market]\ntitle = "Trial"\nlayers = {layers}\njurisdiction = "demo county"\neditions = ["demo"]\ncurrency = "demo"\n'
        '[market.dates_by_layer]\ntrade = "proposal"\nregions = "proposal"\ncompanies = "proposal"\ncodes = "permit"\n'
    )
    return folder, POLICIES


# ---------------------------------------------------------------- E16  altitude


def test_e16_at_5000_feet_the_same_air_carries_less_heat() -> None:
    """U.S. Standard Atmosphere 1976: 24.90 in. Hg at 5,000 ft, 29.92 at the sea; indoor air is as warm, so its density goes with that.

    The same heat into the same cubic feet a minute warms them by 1/0.832 as much; 403 cfm a ton count as 335.
    """
    low, high = _at(0, "5560"), _at(5000, "5560")
    density = 24.90 / 29.92
    assert _house(high, "airflow") == _house(low, "airflow")  # a blower moves volume
    assert _house(high, "temperature_rise") / _house(low, "temperature_rise") == pytest.approx(1 / density, rel=0.005)
    assert _house(high, "delivered_sensible") < _house(low, "delivered_sensible")
    assert _verdict(high, "airflow")["word"] == _verdict(low, "airflow")["word"] == "pass"
    by_weight = _verdict(high, "airflow-of-sea-level")["reading"]["value"]
    assert by_weight == pytest.approx(1008 / 2.5 * density, abs=1.0)
    assert "thin-air" in {one["finding"] for one in high["findings"]}


def test_e16_what_is_built_new_is_sized_for_the_thinner_air() -> None:
    """The grille of the new return of job 1042: its area goes with the airflow designed for, 400 cfm a ton over the density."""

    def grille(altitude: float) -> float:
        lines = _at(altitude, "1042")["lines"]
        line = next(one for one in lines if one["task"] == "add-return")
        return float(re.match(r"\d+", line["sizes"][1]["text"])[0])  # type: ignore[index]

    assert grille(5000) / grille(0) == pytest.approx(29.92 / 24.90, rel=0.05)  # in whole steps of 20 square inches


# ---------------------------------------------------------------- E39  leakage at work


def test_e39_leakage_at_25_pascals_is_not_what_leaks_at_work() -> None:
    """Job 1042, return side: 86 cfm at 25 Pa.

    By the flow exponent of 0.6 (ASHRAE 152) at 57 Pa, the mean of its leaks: 86 (57/25)^0.6 = 141 cfm. By mixing of air, which needs
    no exponent: 78 °F in the rooms, 128 in the attic, 85.1 at the unit, (85.1 - 78)/(128 - 78) of 1,013 cfm = 144.
    """
    result = scope(data("1042"))
    found = result["predictions"]["network_as_found"]["house"]
    leak = found["return_leak"]
    assert found["leakage_return_25"]["value"] == 86.0
    assert leak["value"] == pytest.approx(86 * (57 / 25) ** 0.6, rel=0.05)
    assert leak["value"] == pytest.approx((85.1 - 78.0) / (128.0 - 78.0) * 1013.0, rel=0.05)
    assert leak["value"] - leak["plus_minus"] > 86.0
    # What the registers get is what the fan moves without the leak at work, not without the test's.
    assert found["register_flow"]["value"] == pytest.approx(
        found["airflow"]["value"] - found["supply_leak"]["value"], abs=1
    )
    assert found["supply_leak"]["value"] > found["leakage_supply_25"]["value"]


# ---------------------------------------------------------------- E41  law that changes during a job


SURVEYED = {"survey": date(2026, 7, 14), "proposal": date(2026, 7, 17)}
_TIGHTER = (
    "[parameter.altered_leakage]\nvalue = 9\n"
    'basis = { kind = "published", cite = "A later edition, invented for this test", edition = "2", adopted = 2026-07-16 }\n'
)


@pytest.mark.parametrize(("permit", "limit"), [("2026-07-15", 15.0), ("2026-07-16", 9.0), ("2026-07-20", 9.0)])
def test_e41_code_goes_by_the_day_of_the_permit(tmp_path: Path, permit: str, limit: float) -> None:
    """Survey on 14 July, proposal on the 17th, a new edition from the 16th: the permit's day decides, not survey or proposal."""
    shipped = (POLICIES / "codes/altered-ducts/2026-01-01/code.toml").read_text()
    layers = ["trade", "regions/hot-dry", "codes/altered-ducts", "companies/demo-company"]
    roots = _market(tmp_path, layers, {"codes/altered-ducts/2026-07-16/code.toml": _TIGHTER})
    old = tmp_path / "codes/altered-ducts/2026-01-01/code.toml"
    old.parent.mkdir(parents=True)
    old.write_text(shipped)
    record = data("1042")
    record["dates"] = SURVEYED | {"permit": date.fromisoformat(permit)}
    result = scope(record, "trial", roots)
    assert _promised(result, "altered-leakage") == limit
    in_force = {one["layer"]: one["effective"] for one in result["dates"]["layers"]}
    assert in_force["codes/altered-ducts"] == ("2026-01-01" if limit == 15.0 else "2026-07-16")


def test_e41_the_companys_limits_freeze_at_the_proposal(tmp_path: Path) -> None:
    """A limit of our own from the 18th is not that of a proposal of the 17th, though the permit comes on the 20th."""
    layers = ["trade", "regions/hot-dry", "companies/demo-company", "companies/later"]
    early = "[parameter.static_ceiling]\nvalue = 0.68\n"
    late = "[parameter.static_ceiling]\nvalue = 0.50\n"
    files = {"companies/later/2026-01-01/limits.toml": early, "companies/later/2026-07-18/limits.toml": late}
    record = data("1042")
    record["dates"] = SURVEYED | {"permit": date(2026, 7, 20)}
    result = scope(record, "trial", _market(tmp_path, layers, files))
    assert _promised(result, "external-static") == 0.68


# ---------------------------------------------------------------- E46, E47  effects of lines


def test_e46_a_bedroom_return_is_predicted_with_the_whole_not_added_up() -> None:
    """Job 4471 where neither door nor wall may be opened: the whole house is solved again with the return in it."""
    record = data("4471")
    item(record, "room", "bed-2").update({"transfer_ok": "no", "undercut_ok": "no"})
    result = scope(record)
    assert states(result)["bedroom-return@bed-2"] == "scoped"
    predictions = result["predictions"]
    before = next(o for o in predictions["like_for_like"] if o["setting"] == predictions["scope"]["setting"])[
        "readings"
    ]
    after = predictions["scope"]["readings"]
    assert after["bed-2"]["door_pressure"]["value"] < 5.0 < before["bed-2"]["door_pressure"]["value"]
    assert after["bed-2"]["flow"]["value"] >= before["bed-2"]["flow"]["value"]


def test_e47_the_gain_of_two_lines_is_not_the_sum_of_their_gains() -> None:
    """Job 1042, air to the rooms: beside a choke a second return does little; once the elbow is wide it does more, and so the other way."""
    made = demo("1042")
    alone = gain(made, "medium", ELBOW) + gain(made, "medium", RETURN)
    assert gain(made, "medium", ELBOW, RETURN) > 1.1 * alone
    # The result says both: what a line brings to the old path, and what the scope would lose without it.
    effects = {line["task"]: line["effect"] for line in scope(data("1042"))["lines"] if line["effect"]}
    for task in ("replace-elbow", "add-return"):
        brings, loses = (effects[task][which]["register_flow"] for which in ("alone", "without"))
        assert brings["value"] < -loses["value"]


# ---------------------------------------------------------------- E48  a region and a locked value


_DRAFT = (("water-heater", -2), ("with-furnace", -3), ("induced", -5), ("power-vent", -15), ("sealed", -25))


def _with_region(folder: Path, text: str) -> Policy:
    layers = ["trade", "regions/mixed", "regions/trial", "companies/demo-company"]
    return compose(_market(folder, layers, {"regions/trial/2026-01-01/limits.toml": text}), "trial", {})


def _draft(**moved: float) -> str:
    rows = ", ".join(f'["{word}", {moved.get(word.replace("-", "_"), pascals)}]' for word, pascals in _DRAFT)
    return f"[table.draft_limit]\nrows = [{rows}]\n"


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("co_stop", "[parameter.co_stop]\nvalue = 30\n", 30),
        ("attic_work_limit", "[parameter.attic_work_limit]\nvalue = 118\n", 118),
        ("draft_limit", _draft(with_furnace=-2), -2),
    ],
)
def test_e48_a_region_may_tighten_what_is_locked(tmp_path: Path, name: str, text: str, value: float) -> None:
    policy = _with_region(tmp_path, text)
    held = (
        policy.parameters[name].value if name in policy.parameters else dict(policy.tables[name].rows)["with-furnace"]
    )
    assert held == value


@pytest.mark.parametrize(
    "text",
    [
        "[parameter.co_stop]\nvalue = 36\n",
        "[parameter.attic_work_limit]\nvalue = 126\n",  # under the trade's 130, over this region's 125
        _draft(with_furnace=-4),
        _draft(water_heater=-1, with_furnace=-4),  # one row safer, one looser: each row by itself
        '[table.draft_limit]\nrows = [["water-heater", -2]]\n',
    ],
)
def test_e48_a_region_may_not_loosen_what_is_locked_not_even_one_row(tmp_path: Path, text: str) -> None:
    with pytest.raises(PolicyError) as caught:
        _with_region(tmp_path, text)
    breach = next(fault for fault in caught.value.faults if fault.code == "right-breached")
    assert "regions/trial/2026-01-01/limits.toml" in str(breach)
    assert "trade/2026-01-01/" in str(breach) or "regions/mixed/2026-01-01/" in str(breach)  # both positions


# ---------------------------------------------------------------- all of them


def test_every_edge_case_is_listed_with_the_case_or_test_that_shows_it() -> None:
    head = (POLICIES / "cases" / "edges.toml").read_text().partition("[cases]")[0]
    listed = dict(re.findall(r"(?m)^# (E\d+) +(\S+)", head))
    tested = {number for number, rest in re.findall(r"(?m)^# (E\d+) (.*)", head) if "test_edges.py" in rest}
    assert list(listed) == [f"E{number}" for number in range(1, 49)]
    titled = {
        (number, Path(case.document.file).name)
        for case in read_cases(POLICIES)
        for number in re.findall(r"E\d+", case.title.partition(":")[0])
    }
    assert {
        number for number, where in listed.items() if where.endswith(".toml") and (number, where) not in titled
    } == set()
    assert {name.split("_")[1].upper() for name in globals() if re.match(r"test_e\d", name)} == tested
