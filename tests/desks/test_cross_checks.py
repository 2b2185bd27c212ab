"""Readings that contradict each other are found: each cross-check on a demo job that is sound, then with one thing changed."""

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
import tomli_w

from airwarrant.air.heating import density_at
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.run import Run
from jobs import POLICIES, data, item

Change = Callable[[dict[str, Any]], Any]


@pytest.fixture(scope="module")
def evaluators() -> Iterator[dict[str, Evaluator]]:
    made: dict[str, Evaluator] = {}
    yield made
    for one in made.values():
        one.close()


def run(evaluators: dict[str, Evaluator], job: str, change: Change) -> Run:
    record = data(job)
    change(record)
    parsed = parse_job(tomli_w.dumps(record).encode(), "job.toml")
    if parsed.market not in evaluators:
        evaluators[parsed.market] = Evaluator(compose(POLICIES, parsed.market, parsed.dates), detail=False)
    return evaluators[parsed.market].run(parsed)


def fired(run: Run) -> set[str]:
    return {f"{one.rule}@{one.subject}" for one in run.outcome.firings if one.rule.startswith("cross.")}


def visit(**readings: Any) -> Change:
    return lambda d: d["visit"][0].update(readings)


def house(**words: Any) -> Change:
    return lambda d: d["house"].update(words)


def both(*changes: Change) -> Change:
    return lambda d: [change(d) for change in changes]


def of(kind: str, key: str, **words: Any) -> Change:
    return lambda d: item(d, kind, key).update(words)


def in_visit(kind: str, key: str, **readings: Any) -> Change:
    return lambda d: item(d["visit"][0], kind, key).update(readings)


def plain(record: dict[str, Any]) -> None:
    pass


def without(kind: str) -> Change:
    return lambda d: (d.pop(kind, None), [v.pop(kind, None) for v in d["visit"]])


def old_house(year: int, **words: Any) -> Change:
    def change(record: dict[str, Any]) -> None:
        for name in ("asbestos_suspect", "paint_cut", "lead_paint"):
            record["house"].pop(name, None)
        record.pop("material", None)
        record["house"].update(year_built=year, **words)

    return change


# Limits are those of the trade layer; the arithmetic beside a case is done by hand.
CASES: list[tuple[str, str, Change]] = [
    # X3: .14 + .14 + .18 + .02 = .48 as read; one drop .06 higher leaves more than .05
    ("cross.return-drops-elbow@house", "1042", visit(filter_drop=0.20)),
    ("cross.supply-drops-parts@house", "1042", visit(branch_drop=0.20)),
    # the plenum and branches make the whole of .24 there: .30 is .06 more
    ("cross.supply-drops@house", "5560", visit(branch_drop=0.30)),
    # X6: 680 cfm / 3.5 t = 194; 1,800 / 3.5 = 514; 340 / 3.5 = 97
    ("cross.airflow-asked@house", "1042", visit(airflow={"value": 680, "state": "measured"})),
    ("cross.airflow-asked@house", "1042", visit(airflow={"value": 1800, "state": "measured"})),
    ("cross.airflow-refused@house", "1042", visit(airflow={"value": 340, "state": "measured"})),
    # X11: 1.08 x 1,013 x 15 = 16,400 Btu/h of 42,000 = 39 %; thinner air takes it lower still
    ("cross.split-heat@house", "1042", visit(supply_temp=70.1)),
    ("cross.split-heat@house", "1042", visit(supply_temp=40.1, unit_temp=85.1)),
    # X12: 1.08 x 1,120 x 40 = 48,400 of 64,000 Btu/h = 76 %
    ("cross.furnace-heat@house", "4471", visit(temperature_rise=40)),
    # X13: 7.5 kW = 25,600 Btu/h; 1.08 x 1,008 x 40 = 43,500
    ("cross.strip-heat@house", "5560", both(visit(temperature_rise=40), lambda d: _electric(d))),
    # X14: 869 cfm through 12 in. (0.785 ft2) = 1,106 fpm
    ("cross.return-velocity@house", "1042", of("return", "hall-return", diameter=12)),
    # X15: a gap of 2 in. under the door would make 72 cfm / (64 + 8 in2): under a pascal, where 7.2 were read
    ("cross.door@bed-2", "1042", of("room", "bed-2", undercut=2)),
    ("cross.door@bed-2", "1042", of("room", "bed-2", undercut=0)),
    # X16: 3.5 t = 42,000 Btu/h; of 25,000 it is 168 %
    ("cross.size-over-load@house", "1042", house(sensible_load=25_000)),
    ("cross.tons-changed@house", "1042", lambda d: d["new"].update(tons=4)),  # X17
    # X20: over the ceiling at full airflow with 250 W / 1,077 cfm = 0.23 W/cfm
    ("cross.constant-airflow@house", "3390", visit(power=250)),
    # X22, federal rule: houses built before 1978
    ("cross.lead-not-answered@house", "1042", old_house(1977, asbestos_suspect="no")),
    ("cross.lead-not-tested@house", "1042", old_house(1977, asbestos_suspect="no", paint_cut="yes")),
    ("cross.asbestos-not-answered@house", "1042", old_house(1979)),
    ("cross.asbestos-not-listed@house", "1042", old_house(1994, asbestos_suspect="yes")),
    ("cross.gas-without-appliance@house", "1042", both(without("appliance"), house(gas_service="yes"))),  # X23
    ("cross.platform-and-duct@house", "1042", lambda d: d.update(platform=[{"id": "platform", "lining": "lined"}])),
    ("cross.rooms-area@house", "1042", of("room", "living", area=600)),  # X25: 1,940 of 1,720 ft2 = 113 %
    ("cross.rooms-of-systems@house", "1042", house(systems=2)),
    ("cross.diameter-over-jacket@hall-return", "1042", of("return", "hall-return", diameter_over="jacket")),  # X26
    # X27: 29,800 Btu/h over the rooms, of 31,000 = 96 %
    ("cross.load-shares@house", "1042", house(sensible_load=31_000)),
    ("cross.load-shares@house", "1042", lambda d: [room.update(load_share=10) for room in d["room"]]),
    (
        "cross.dry-table@house",
        "1042",
        both(lambda d: d["old"]["blower"].update(table_coil="dry"), visit(indoor_dew_point=58)),
    ),  # X28
    ("cross.filter-after@house", "1042", visit(filter_changed="after-statics")),  # X29
    ("cross.no-altitude@house", "1042", lambda d: d["house"].pop("altitude")),  # X30
]


def _electric(record: dict[str, Any]) -> None:
    record["old"]["strip_heat"] = 7.5
    record["new"]["fuel"] = "electric"


@pytest.mark.parametrize("job", ["1042", "4471", "5560", "2718", "3390"])
def test_a_sound_demo_job_contradicts_itself_nowhere(evaluators: dict[str, Evaluator], job: str) -> None:
    assert fired(run(evaluators, job, plain)) == set()


@pytest.mark.parametrize(("rule", "job", "change"), CASES, ids=[f"{i}-{c[0]}" for i, c in enumerate(CASES)])
def test_a_contradiction_is_found(evaluators: dict[str, Evaluator], rule: str, job: str, change: Change) -> None:
    assert rule in fired(run(evaluators, job, change))


@pytest.mark.parametrize(
    ("rule", "job", "change"),
    [
        ("cross.return-drops-elbow@house", "1042", visit(filter_drop=0.18)),  # .04 apart
        ("cross.airflow-asked@house", "1042", visit(airflow={"value": 710, "state": "measured"})),  # 203 cfm/ton
        ("cross.furnace-heat@house", "4471", visit(temperature_rise=47)),  # 89 %
        ("cross.lead-not-answered@house", "1042", old_house(1978, asbestos_suspect="no")),
        ("cross.lead-not-answered@house", "1042", old_house(1950, asbestos_suspect="no", paint_cut="no")),
        ("cross.lead-not-tested@house", "1042", old_house(1978, asbestos_suspect="no", paint_cut="yes")),
        (
            "cross.lead-not-tested@house",
            "1042",
            old_house(1950, asbestos_suspect="no", paint_cut="yes", lead_paint="no"),
        ),
        ("cross.lead-not-tested@house", "1042", old_house(1950, asbestos_suspect="no")),
        ("cross.asbestos-not-answered@house", "1042", old_house(1950, asbestos_suspect="no", paint_cut="no")),
        ("cross.door@bed-2", "1042", both(of("room", "bed-2", undercut=2), of("room", "bed-2", own_return="yes"))),
        ("cross.rooms-of-systems@house", "1042", lambda d: d["house"].update(systems=1)),
        ("cross.load-shares@house", "1042", house(sensible_load=30_200)),  # 98.7 %
        ("cross.dry-table@house", "1042", visit(indoor_dew_point=58)),
    ],
)
def test_what_is_near_and_agrees_is_let_be(
    evaluators: dict[str, Evaluator], rule: str, job: str, change: Change
) -> None:
    assert rule not in fired(run(evaluators, job, change))


@pytest.mark.parametrize(
    ("words", "held"),
    [
        ({"asbestos_suspect": "unknown"}, True),
        ({"asbestos_suspect": "no"}, False),
    ],
)
def test_old_wrap_that_nobody_looked_for_holds_what_would_open_a_joint(
    evaluators: dict[str, Evaluator], words: dict[str, str], held: bool
) -> None:
    found = run(evaluators, "1042", old_house(1965, lead_paint="no", **words))
    elbow = found.settled.lines["replace-elbow@roof-elbow"]
    assert ("asbestos-not-answered" in {hold.name for hold in elbow.held_by}) is held


def test_an_airflow_no_system_has_holds_airflow_work(evaluators: dict[str, Evaluator]) -> None:
    found = run(evaluators, "1042", visit(airflow={"value": 340, "state": "measured"}))
    holds = {vote.then.named for vote in found.votes if vote.then.what == "hold"}
    assert "airflow-not-believable" in holds


def test_a_dry_table_widens_the_airflow_it_gave(evaluators: dict[str, Evaluator]) -> None:
    change = both(lambda d: d["old"]["blower"].update(table_coil="dry"), visit(indoor_dew_point=58))
    found = run(evaluators, "1042", change).verdicts["airflow", "found", "house"]
    assert found.reading is not None
    assert found.reading.plus_minus == pytest.approx(0.20 * 1013 / 3.5, rel=1e-3)


@pytest.fixture(scope="module")
def policy() -> Policy:
    return compose(POLICIES, "copper-basin", {"survey": date(2026, 7, 14)})


def test_the_table_of_air_density_is_the_standard_atmospheres(policy: Policy) -> None:
    # U.S. Standard Atmosphere 1976, pressure in inches of mercury: 29.921 at sea level, 27.821 at 2,000 ft, 24.896 at 5,000,
    # 20.577 at 10,000; from memory, as printed on altimetry tables. Indoor air of one temperature goes with the pressure.
    # The rows in between against the formula of `air`, itself tested in tests/published.
    rows = dict(policy.tables["air_density_share"].rows)
    for feet, mercury in ((2000.0, 27.821), (5000.0, 24.896), (10000.0, 20.577)):
        assert rows[feet] == pytest.approx(100.0 * mercury / 29.921, abs=0.06)  # a printed tenth
    for feet, share in rows.items():
        assert isinstance(feet, float)
        assert share == pytest.approx(100.0 * density_at(0.3048 * feet) / density_at(0.0), abs=0.06)


def test_the_heat_of_air_is_that_of_standard_air(policy: Policy) -> None:
    # 0.075 lb/ft3 by 0.24 Btu/(lb F) by 60 min/h: standard air as handbooks define it.
    assert policy.parameters["air_heat"].value == pytest.approx(0.075 * 0.24 * 60.0, rel=1e-6)


def test_the_door_formula_gives_the_published_flow_under_a_door(policy: Policy) -> None:
    # A published note on door undercuts (1510365blog.wordpress.com, read in an excerpt): a 30 in. door with a gap of half an
    # inch passes about 25 cfm at 2.5 Pa. "About": 15 %.
    discharge = float(policy.parameters["predict_discharge"].value) / 100.0
    half_density = float(policy.parameters["half_air_density"].value) * 0.45359237 / 0.3048**3
    speed = 25.0 * 0.3048**3 / 60.0 / (30.0 * 0.5 * 0.0254**2) / discharge
    assert half_density * speed**2 == pytest.approx(2.5, rel=0.15)
