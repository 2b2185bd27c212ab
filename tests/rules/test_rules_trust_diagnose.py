"""The rules on trust and diagnosis: for each a job in which it speaks, and for those on safety one in which it narrowly does not."""

import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.result.document import document
from airwarrant.run import Run
from airwarrant.session import Session
from jobs import POLICIES, data, item

FOLDER = POLICIES / "trade" / "2026-01-01"
FILES = ("rules-trust-more.toml", "rules-diagnose-more.toml")
OWN_RULES = {rule["id"] for name in FILES for rule in tomllib.loads((FOLDER / name).read_text())["rule"]}
MARKETS = ("clay-hollow", "copper-basin", "fog-harbor", "mosswater-bend")

Record = dict[str, Any]
Change = Callable[[Record], None]
Evaluate = Callable[[Record], Run]


def small() -> Record:
    """The small house whose air side is healthy."""
    return tomllib.loads((POLICIES / "cases" / "records" / "small-house.toml").read_text())


@pytest.fixture(scope="module")
def run() -> Iterator[Evaluate]:
    evaluators: dict[str, Evaluator] = {}

    def evaluated(record: Record) -> Run:
        job = parse_job(tomli_w.dumps(record).encode(), "job.toml")
        if job.market not in evaluators:
            evaluators[job.market] = Evaluator(compose(POLICIES, job.market, job.dates), detail=False)
        return evaluators[job.market].run(job)

    yield evaluated
    for evaluator in evaluators.values():
        evaluator.close()


def _fired(run: Run) -> set[str]:
    return {walked.rule for walked in run.walked if walked.fired}


def _word(run: Run, check: str, place: str = "house", time: str = "found") -> str:
    return run.verdicts[check, time, place].word


def _retests(run: Run) -> set[tuple[str, str, str]]:
    return {(r["reading"], r["subject"], r["when"]) for r in document(run)["retests"]}


def _visit(**words: Any) -> Change:
    return lambda record: record["visit"][0].update(words)


def _house(**words: Any) -> Change:
    return lambda record: record["house"].update(words)


def _of(kind: str, key: str, **words: Any) -> Change:
    return lambda record: item(record, kind, key).update(words)


def _read(kind: str, key: str, **words: Any) -> Change:
    return lambda record: item(record["visit"][0], kind, key).update(words)


def _unread(name: str) -> Change:
    return lambda record: record["visit"][0].pop(name)


def _leg_unread(leg: str) -> Change:
    return lambda record: item(record["visit"][0], "elbow", "roof-elbow").pop(leg)


def _add(kind: str, **words: Any) -> Change:
    return lambda record: record.setdefault(kind, []).append(words)


def _instrument(checked: str) -> Change:
    return lambda record: record.update(
        instrument=[{"id": "manometer", "checked": tomllib.loads(f"d = {checked}")["d"]}]
    )


def _new(**words: Any) -> Change:
    return lambda record: record["new"].update(words)


def _runs(word: str) -> Change:
    return lambda record: record["old"].update(runs=word)


def _table(word: str) -> Change:
    return lambda record: record["old"]["blower"].update(table_filter=word)


_SUPPLY_TIGHT = _visit(supply_static=0.42, external_static=0.60, branch_drop=0.36)
_TIGHT = _visit(return_static=-0.30, supply_static=0.44, external_static=0.74, branch_drop=0.38)
_LEAKY = _visit(leakage_25=150, leakage_return_25=70, leakage_supply_25=80)
_BIG = _house(sensible_load=13_000)

#: Rule, and what is changed in the small house so that it speaks.
FIRES: list[tuple[str, list[Change]]] = [
    ("trust.return-probe", [_visit(return_probe="in-turn")]),
    ("trust.supply-probe", [_visit(supply_probe="at-coil")]),
    ("trust.return-probe-unknown", [_visit(return_probe="unknown")]),
    ("trust.supply-probe-unknown", [_visit(supply_probe="unknown")]),
    ("trust.as-used", [_visit(registers="some-shut")]),
    ("trust.as-used", [_visit(doors="closed")]),
    ("trust.as-used", [_visit(dampers="changed")]),
    ("trust.every-zone", [_house(zone_dampers="yes"), _visit(zone_calls="one")]),
    ("trust.bypass-open", [_house(bypass="open")]),
    ("trust.other-system", [_of("room", "bed-2", other_system="yes"), _read("room", "bed-2", flow=80)]),
    ("trust.old-instruments", [_instrument("2025-05-01")]),
    ("trust.old-instruments-rooms", [_instrument("2025-05-01")]),
    ("trust.old-instruments-zones", [_instrument("2025-05-01")]),
    ("trust.wind", [_visit(wind=18)]),
    ("trust.wind-rooms", [_visit(wind=18)]),
    ("trust.wind-zones", [_visit(wind=18)]),
    ("trust.hood", [_visit(hood="unpowered")]),
    ("trust.readings-disagree", [_visit(register_flow=500)]),
    ("trust.rooms-of-a-disagreement", [_visit(register_flow=500)]),
    ("trust.table-of-a-package-unit", [_table("in")]),
    ("trust.table-counts-a-filter", [_table("in"), _of("grille", "hall-grille", filter_at="grille")]),
    ("trust.return-leg-unread", [_leg_unread("return_leg")]),
    ("trust.supply-leg-unread", [_leg_unread("supply_leg")]),
    ("trust.elbow-of-a-dead-unit", [_runs("no"), _leg_unread("return_leg")]),
    ("trust.platform-unseen", [_add("platform", id="box", moisture="no", openings="no")]),
    ("trust.dead-unit-ducts", [_runs("no"), _unread("leakage_25")]),
    ("trust.leakage-before-judging", [_unread("leakage_25")]),
    (
        "trust.photograph-first",
        [_read("elbow", "roof-elbow", supply_leg=0.14), _visit(supply_static=0.30, external_static=0.48)],
    ),
    ("find.elbow-one-leg", [_leg_unread("return_leg"), _read("elbow", "roof-elbow", supply_leg=0.14)]),
    (
        "find.elbow-kind-unseen",
        [_of("elbow", "roof-elbow", style="unknown"), _read("elbow", "roof-elbow", supply_leg=0.14)],
    ),
    ("find.supply-cause-open", [_SUPPLY_TIGHT]),
    ("find.supply-parts-unread", [_SUPPLY_TIGHT, _unread("branch_drop")]),
    ("find.branches-small", [_visit(supply_static=0.50, external_static=0.68, branch_drop=0.44)]),
    ("find.fan-power-high", [_visit(power=600)]),
    ("find.fan-power-over-target", [_visit(power=420, airflow={"value": 800, "state": "measured", "plus_minus": 20})]),
    ("find.split-high", [_TIGHT, _visit(supply_temp=48)]),
    ("find.split-low", [_LEAKY, _visit(supply_temp=64)]),
    ("find.split-alone", [_visit(supply_temp=64)]),
    ("find.rise-off-label", [lambda r: r["old"].update(rise_low=30, rise_high=60), _visit(temperature_rise=66)]),
    ("find.rise-off-label", [lambda r: r["old"].update(rise_low=30, rise_high=60), _visit(temperature_rise=25)]),
    ("find.bypass-robs", [_house(bypass="open"), _visit(airflow={"value": 600, "state": "measured"})]),
    ("find.unit-too-big-for-ducts", [_BIG, _TIGHT]),
    ("find.larger-unit-unproven", [_new(tons=2.5), _LEAKY]),
    ("find.gain-unread", [_new(tons=2.5), _house(return_path_space="attic"), _unread("unit_temp")]),
    ("find.return-damaged", [_of("return", "hall-return", condition="kinked")]),
    ("find.return-noisy", [_of("return", "hall-return", diameter=14), _of("room", "bed-2", complaint="noisy")]),
    ("find.leaky-outside", [_visit(leakage_outside_25=110)]),
    ("find.leak-stays-inside", [_house(supply_path_space="inside"), _LEAKY, _visit(leakage_outside_25=20)]),
    ("find.leak-flatters-static", [_LEAKY]),
    ("find.supply-leaks-lead", [_visit(house_pressure=-2.0)]),
    ("find.return-leaks-lead", [_visit(house_pressure=2.0)]),
    ("find.leaks-cancel", [_LEAKY, _visit(house_pressure=0.1)]),
    ("find.opening-leaks", [_add("opening", id="old-cooler", was="evaporative-cooler", closed_by="thin-damper")]),
    ("find.opening-leaks", [_add("opening", id="old-cooler", was="evaporative-cooler")]),
    ("find.cooler-not-looked-for", [_house(evaporative_cooler="yes")]),
    ("find.run-slack", [_of("run", "bed-2-run", condition="slack")]),
    ("find.run-loose", [_of("run", "bed-2-run", condition="loose")]),
    ("find.duct-sweats", [_visit(duct_surface_temp=62, space_dew_point=66)]),
    ("find.duct-wet", [_of("run", "bed-2-run", wet="yes")]),
    (
        "find.hot-from-the-sun",
        [_of("room", "bed-2", glass_faces="west", complaint_when="afternoon"), _read("room", "bed-2", offset=5)],
    ),
    ("find.further-fault", [_of("run", "bed-2-run", loose_end=None), _of("run", "bed-2-run", condition="loose")]),
    ("find.further-fault-of-the-test", [_visit(dampers="changed")]),
]


def _changed(changes: list[Change]) -> Record:
    record = small()
    for change in changes:
        change(record)
    for kind in ("run", "room"):
        for one in record.get(kind, []):
            one.pop("loose_end", None)
    return record


@pytest.mark.parametrize(("rule", "changes"), FIRES, ids=[f"{n}-{rule}" for n, (rule, _) in enumerate(FIRES)])
def test_each_rule_speaks_in_a_job_made_for_it_and_not_in_the_healthy_house(
    rule: str, changes: list[Change], run: Evaluate
) -> None:
    assert rule in _fired(run(_changed(changes)))


def test_every_rule_of_these_files_has_its_job() -> None:
    edges = {"find.thin-air"}  # an edge case of its own
    assert {rule for rule, _ in FIRES} | edges == OWN_RULES


def test_the_healthy_house_stays_healthy(run: Evaluate) -> None:
    healthy = run(small())
    assert "find.healthy" in _fired(healthy)
    unwritten = {"trust.return-probe-unknown", "trust.supply-probe-unknown"}
    assert _fired(healthy) & OWN_RULES <= unwritten


# ---------------------------------------------------------------- what comes of them


@pytest.mark.parametrize("leg", ["return_leg", "supply_leg"])
def test_a_narrow_elbow_whose_leg_nobody_read_keeps_the_offer_back_until_it_is_read(leg: str, run: Evaluate) -> None:
    record = small()
    item(record["visit"][0], "elbow", "roof-elbow").pop(leg)
    result = run(record)
    assert (leg, "roof-elbow", "before-sale") in _retests(result)
    assert document(result)["sellable"]["answer"] == "held"
    assert "find.healthy" not in _fired(result)


def test_a_wide_elbow_needs_no_reading_of_its_legs(run: Evaluate) -> None:
    record = _changed([_of("elbow", "roof-elbow", style="wide-side-by-side"), _leg_unread("return_leg")])
    assert not {"trust.return-leg-unread", "trust.supply-leg-unread"} & _fired(run(record))


def test_one_leg_that_is_read_and_too_tight_is_enough_to_find_the_elbow(run: Evaluate) -> None:
    record = _changed([_leg_unread("return_leg"), _read("elbow", "roof-elbow", supply_leg=0.14)])
    assert {line.id for line in run(record).settled.active()} >= {"replace-elbow@roof-elbow"}


def test_a_supply_side_over_its_share_is_said_and_its_parts_are_asked_for(run: Evaluate) -> None:
    result = run(_changed([_SUPPLY_TIGHT, _unread("branch_drop")]))
    told = document(result)
    assert "supply-tight" in {caution["name"] for caution in told["cautions"]}
    assert ("branch_drop", "house", "before-sale") in _retests(result)
    said = next(f["said"] for f in told["findings"] if f["finding"] == "supply-restricted")
    assert "0.42" in said


def test_a_supply_side_whose_cause_is_known_gets_no_open_question(run: Evaluate) -> None:
    choking = [_SUPPLY_TIGHT, _read("elbow", "roof-elbow", supply_leg=0.20)]
    crushed = [_SUPPLY_TIGHT, _of("run", "bed-2-run", condition="crushed")]
    rusted = [_SUPPLY_TIGHT, _of("plenum", "supply-plenum", sound="no")]
    for changes in (choking, crushed, rusted):
        assert "find.supply-cause-open" not in _fired(run(_changed(changes)))


def test_a_door_is_read_after_balancing_only_where_the_rooms_are_balanced(run: Evaluate) -> None:
    tight = [
        _TIGHT,
        _read("elbow", "roof-elbow", return_leg=0.20, supply_leg=0.22),
        _read("room", "bed-2", door_pressure=3.6),
        _visit(airflow={"value": 660, "state": "measured"}, register_flow=640, grille_flow=650),
        *(
            _read("room", key, flow=flow)
            for key, flow in (("living", 240), ("kitchen", 160), ("bed-1", 131), ("bed-2", 108))
        ),
    ]
    result = run(_changed(tight))
    how = {r["how"] for r in document(result)["retests"] if r["reading"] == "door_pressure" and r["subject"] == "bed-2"}
    assert "balance-rooms@house" not in {line.id for line in result.settled.active()}
    assert "grow.reread-door-unbalanced" in _fired(result)
    assert how
    assert not any("balancing" in text for text in how)
    with Session(POLICIES) as session:
        balanced = session.evaluate(parse_job(tomli_w.dumps(data("1042")).encode(), "job.toml"))
    assert any("after balancing" in r["how"] for r in balanced["retests"] if r["reading"] == "door_pressure")


def test_a_misplaced_probe_leaves_a_side_too_close_to_call(run: Evaluate) -> None:
    over = _visit(return_static=-0.285, external_static=0.505, return_duct_drop=0.165)
    assert _word(run(_changed([over, _visit(return_probe="straight")])), "return-static") == "fail"
    assert _word(run(_changed([over, _visit(return_probe="in-turn")])), "return-static") == "close"


def test_an_unpowered_hood_leaves_a_short_room_too_close_to_call(run: Evaluate) -> None:
    short = _read("room", "bed-2", flow=92)
    assert _word(run(_changed([short, _visit(hood="powered")])), "room-flow", "bed-2") == "fail"
    assert _word(run(_changed([short, _visit(hood="unpowered")])), "room-flow", "bed-2") == "close"


@pytest.mark.parametrize(("word", "change"), [("wind", _visit(wind=18)), ("instruments", _instrument("2025-05-01"))])
def test_doubt_of_wind_and_instruments_counts_against_a_combustion_zone(
    word: str, change: Change, run: Evaluate
) -> None:
    """Safety: the doubt that the rule leaves on the zone's pressure may only make a pass a fail."""
    near = _read("zone", "utility", draft={"value": -1.8, "plus_minus": 0.1})
    assert _word(run(_changed([near])), "draft", "utility") == "pass", word
    windy = run(_changed([near, change]))
    assert _word(windy, "draft", "utility") == "fail", word
    assert "guard.draft" in _fired(windy)


@pytest.mark.parametrize("change", [_visit(wind=15), _instrument("2025-06-03")])
def test_wind_and_instruments_at_their_limits_leave_a_zone_alone(change: Change, run: Evaluate) -> None:
    fired = _fired(run(_changed([change])))
    assert not {"trust.wind-zones", "trust.old-instruments-zones"} & fired


def test_a_room_within_its_tolerance_that_misses_a_tenth_of_its_air_is_not_blamed_on_the_sun(run: Evaluate) -> None:
    warm = [_read("room", "bed-2", offset=5, flow={"value": 110, "plus_minus": 2})]
    assert "find.hot-not-air" not in _fired(run(_changed(warm)))


def test_a_split_out_of_range_is_never_a_finding_by_itself(run: Evaluate) -> None:
    for supply in (48.0, 64.0):
        alone = run(_changed([_visit(supply_temp=supply)]))
        assert not {"find.split-high", "find.split-low"} & _fired(alone)
        assert "split-alone" in {caution["name"] for caution in document(alone)["cautions"]}


def test_ducts_that_leak_into_the_rooms_only_are_not_sealed_for_it(run: Evaluate) -> None:
    inside = [_house(supply_path_space="inside"), _LEAKY]
    assert "find.leaky" in _fired(run(_changed(inside)))
    tight_outside = run(_changed([*inside, _visit(leakage_outside_25=20)]))
    assert "find.leaky" not in _fired(tight_outside)
    assert "seal-ducts" not in {line.task for line in tight_outside.settled.active()}


def test_sweating_ducts_count_their_doubt_against_them(run: Evaluate) -> None:
    assert "find.duct-sweats" in _fired(run(_changed([_visit(duct_surface_temp=68, space_dew_point=66)])))
    assert "find.duct-sweats" not in _fired(run(_changed([_visit(duct_surface_temp=69, space_dew_point=66)])))


@pytest.mark.parametrize(
    "change",
    [
        _visit(registers="some-shut"),
        _house(bypass="open"),
        _house(evaporative_cooler="yes"),
        _add("opening", id="old-cooler", was="evaporative-cooler"),
        _of("return", "hall-return", condition="crushed"),
        _of("run", "bed-2-run", condition="loose"),
        _of("run", "bed-2-run", wet="yes"),
        _add("platform", id="box", moisture="no", lining="lined"),
    ],
)
def test_nothing_is_called_healthy_on_a_test_or_a_part_in_question(change: Change, run: Evaluate) -> None:
    assert "find.healthy" not in _fired(run(_changed([change])))


# ---------------------------------------------------------------- regional columns


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("design_per_ton", (375, 400, 400, 350)),
        ("min_airflow", (350, 350, 350, 325)),
        ("static_ceiling", (0.60, 0.70, 0.60, 0.60)),
        ("return_budget", (0.25, 0.30, 0.25, 0.25)),
        ("fan_power_flag", (0.58, 0.58, 0.58, 0.58)),
        ("fan_power_target", (0.45, 0.45, 0.45, 0.45)),
        ("return_gain_limit", (3, 3, 3, 3)),
        ("return_velocity_prefer", (600, 600, 600, 600)),
        ("return_velocity_most", (700, 700, 700, 700)),
        ("test_age", (45, 30, 45, 30)),
        ("split_low", (16, 18, 16, 15)),
        ("split_high", (22, 26, 23, 21)),
    ],
)
def test_each_climate_has_its_column(name: str, expected: tuple[float, ...]) -> None:
    """Proposed starting values by climate: practice and judgement as their basis says, no published table."""
    policies = {market: compose(POLICIES, market, _DATES) for market in MARKETS}
    assert tuple(policies[market].parameters[name].value for market in MARKETS) == expected


_DATES = parse_job(tomli_w.dumps(small()).encode(), "job.toml").dates


def test_every_finding_and_caution_of_these_rules_is_said_in_both_languages() -> None:
    said = compose(POLICIES, "clay-hollow", _DATES).said
    rules = compose(POLICIES, "clay-hollow", _DATES).rules
    named = {then.name for rule in OWN_RULES for then in rules[rule].then if then.what in ("finding", "caution")}
    #: Said in wording of other files, or only a step between rules.
    steps = {"fault", "elbow-choking", "leaky"}
    assert not {name for name in named - steps if {"en", "es"} - set(said.get(name, {}))}


def test_no_file_of_the_part_holds_a_number_in_a_rule() -> None:
    for name in FILES:
        for rule in tomllib.loads(Path(FOLDER / name).read_text())["rule"]:
            assert "limit" not in rule
