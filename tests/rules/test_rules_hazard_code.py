"""Hazards, law and listing: each rule speaks in a job that has its fact, and not in the one that narrowly lacks it.

Rules are those of the trade layer's hazard file and of the code layers; the catalogue's own numbers stand in the records: 10 ft
to a flame, 25 % of the volume, 6 ft of height and 6 square feet of paint, heat index 91, 103 and 115 °F, 300 s of spillage with
a cold vent, R-8 in attics. Their sources stand beside the values in the policy.
"""

import tomllib
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest
import tomli_w

from airwarrant.job.dictionary import KINDS, YES_NO
from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session
from jobs import POLICIES, data, item, states

Record = dict[str, Any]
HAZARD_FILE = POLICIES / "trade/2026-01-01/rules-hazard.toml"
CODES = sorted((POLICIES / "codes").glob("*/*/*.toml"))


def _with(job: str, *, house: Record | None = None, new: Record | None = None, visit: Record | None = None) -> Record:
    record = data(job)
    record["house"] |= house or {}
    record["new"] |= new or {}
    record["visit"][-1] |= visit or {}
    return record


def _add(record: Record, kind: str, *items: Record) -> None:
    record.setdefault(kind, []).extend(items)


def _seen() -> Record:
    """Job 1042 with every hazard seen and every code fact against it."""
    record = _with(
        "1042",
        house={
            "year_built": 1970, "co_alarm": "no", "paint_cut": "yes", "lead_paint": "yes", "paint_cut_area": 6,
            "mould_like": "yes", "pests": "yes", "live_wiring": "yes", "structure_cut": "yes", "heat_risk": "yes",
            "roof_edge": "yes", "roof_height": 6, "attic_floor": "no", "crawl_water": "yes", "supply_path_space": "crawl",
            "new_duct_share": 75, "manufactured_home": "yes", "sold_at_home": "yes",
        },
        new={
            "charge_checked": "no", "eligible": "no", "coil_over_finish": "yes", "second_drain": "no",
            "maker_max_per_ton": 322, "maker_return_area": 501,
        },
        visit={"gas_smell": "yes", "gas_leak_check": "failed", "heat_index": 115, "attic_temp": 131},
    )  # fmt: skip
    record["appliance"][0] |= {"use": "furnace", "flame_moves": "yes", "exchanger_cracked": "yes"}
    record["visit"][0]["appliance"] = [{"id": "range", "spill_cold": 300}]
    record["return"][0] |= {"wet": "yes", "material": "flex", "disturbed": "yes", "space": "attic", "insulation": 7.9}
    record["plenum"][0] |= {"disturbed": "yes", "space": "crawl", "insulation": 5, "closure": "cloth-tape"}
    _add(record, "leak", {"id": "garage-gap", "space": "garage"})
    _add(record, "platform", {"id": "base", "touches": "garage", "openings": "unknown"})
    _add(
        record,
        "return",
        {"id": "bath-return", "draws_from": "bath", "space": "garage", "material": "flex", "disturbed": "yes"},
        {"id": "near-range", "draws_from": "kitchen", "flame_distance": 9},
        {"id": "far-range", "draws_from": "kitchen", "flame_distance": 10},
        {"id": "small-room", "draws_from": "rooms", "source_share": 24, "source_open": "no"},
        {"id": "bay", "draws_from": "rooms", "material": "bare-cavity", "disturbed": "unknown"},
    )
    _add(
        record,
        "trunk",
        {"id": "return-bay", "side": "return", "material": "bare-cavity", "wet": "yes"},
        {"id": "supply-bay", "side": "supply", "material": "bare-cavity", "space": "garage", "disturbed": "yes"},
        {"id": "thin", "side": "supply", "space": "roof", "disturbed": "yes", "insulation": 6},
    )
    _add(
        record,
        "run",
        {"id": "bay-run", "material": "bare-cavity", "wet": "yes", "space": "garage", "disturbed": "yes"},
        {"id": "thin-run", "space": "garage", "material": "metal", "disturbed": "yes", "insulation": 5.9},
        {"id": "halves", "crossover": "yes", "on_ground": "no", "support_gap": 4.1},
    )
    return record


def _narrowly_not() -> Record:
    """The same house with each number just on the good side and each word otherwise."""
    record = _with(
        "1042",
        house={
            "year_built": 1978, "paint_cut": "yes", "lead_paint": "yes", "paint_cut_area": 6, "roof_height": 5.9,
            "roof_edge": "no", "new_duct_share": 74, "manufactured_home": "no", "sold_at_home": "no",
        },
        new={
            "charge_checked": "yes", "eligible": "yes", "coil_over_finish": "no", "second_drain": "no",
            "maker_max_per_ton": 600, "maker_return_area": 500, "refrigerant": "a1",
        },
        visit={"gas_leak_check": "passed", "heat_index": 87.9, "attic_temp": 128.9},
    )  # fmt: skip
    record["appliance"][0] |= {"use": "furnace", "flame_moves": "no", "exchanger_cracked": "no"}
    record["visit"][0]["appliance"] = [{"id": "range", "spill_cold": 294}]
    record["return"][0] |= {"wet": "no", "material": "flex", "disturbed": "yes", "space": "attic", "insulation": 8}
    record["plenum"][0] |= {"disturbed": "yes", "space": "crawl", "insulation": 6, "closure": "mastic-mesh"}
    record["house"]["crawl_water"] = "no"
    _add(record, "leak", {"id": "garage-gap", "side": "supply", "space": "garage"})
    _add(record, "platform", {"id": "base", "touches": "garage", "openings": "no", "moisture": "no"})
    _add(
        record,
        "return",
        {"id": "small-room", "draws_from": "rooms", "source_share": 25, "source_open": "no", "wet": "no"},
        {"id": "open-room", "draws_from": "rooms", "source_share": 24, "source_open": "yes", "wet": "no"},
        {"id": "bay", "draws_from": "rooms", "material": "bare-cavity", "disturbed": "no", "wet": "no"},
        {
            "id": "steel",
            "draws_from": "rooms",
            "material": "metal",
            "space": "garage",
            "disturbed": "yes",
            "wet": "yes",
        },
    )
    _add(record, "run", {"id": "halves", "crossover": "yes", "on_ground": "no", "support_gap": 4})
    return record


def _unanswered() -> Record:
    """Job 5560 as if nobody had looked for anything."""
    record = _with("5560", visit={"ambient_co": 0})
    for field in ("mould_like", "pests", "live_wiring", "structure_cut", "heat_risk", "crawl_water", "attached_garage"):
        del record["house"][field]
    del record["house"]["sold_at_home"]
    for field in ("refrigerant", "charge_checked", "eligible"):
        del record["new"][field]
    del record["return"][0]["wet"]
    _add(record, "appliance", {"id": "heater", "burns": "gas", "venting": "sealed"})
    return record


def _attic() -> Record:
    """Job 3390, a unit in the attic, without a way to it."""
    record = _with(
        "3390",
        house={"hatch_width": 21, "attic_path": 21, "service_space": "no", "attic_floor": "no"},
        new={"maker_max_per_ton": 320},
        visit={"heat_index": 104},
    )
    del record["new"]["coil_over_finish"], record["new"]["second_drain"]
    return record


def _roof_not_looked() -> Record:
    record = _with("1042", house={"supply_path_space": "inside", "return_path_space": "inside", "new_duct_share": 100})
    del record["house"]["roof_edge"], record["house"]["roof_height"]
    record["visit"][0]["heat_index"] = 95
    record["zone"][0] |= {"open_draft": "unknown", "worst_case": "no"}
    return record


RECORDS = {
    "seen": _seen,
    "narrowly not": _narrowly_not,
    "unanswered": _unanswered,
    "attic": _attic,
    "roof": _roof_not_looked,
}
#: Rule -> the record in which it speaks, and where.
SPEAKS = {
    "guard.gas-smell": ("seen", "house"),
    "guard.gas-leak": ("seen", "house"),
    "guard.gas-not-answered": ("unanswered", "house"),
    "guard.draft-not-worst": ("roof", "indoors"),
    "guard.spillage-cold": ("seen", "range"),
    "guard.flame-moves": ("seen", "range"),
    "guard.flame-not-watched": ("unanswered", "heater"),
    "guard.co-alarm": ("seen", "house"),
    "guard.garage-leak-side": ("seen", "garage-gap"),
    "guard.garage-platform": ("seen", "base"),
    "guard.lead-paint": ("seen", "house"),
    "guard.wet-return": ("seen", "hall-return"),
    "guard.wet-trunk": ("seen", "return-bay"),
    "guard.wet-run": ("seen", "bay-run"),
    "guard.wet-not-looked": ("unanswered", "house"),
    "guard.mould-like": ("seen", "house"),
    "guard.heat-caution": ("roof", "house"),
    "guard.heat-high": ("attic", "house"),
    "guard.heat-stop": ("seen", "house"),
    "guard.attic-too-hot": ("seen", "house"),
    "guard.heat-at-home": ("seen", "house"),
    "guard.falls-roof": ("seen", "house"),
    "guard.falls-open-edge": ("seen", "house"),
    "guard.falls-not-looked": ("roof", "house"),
    "guard.attic-floor": ("attic", "house"),
    "guard.live-wiring": ("seen", "house"),
    "guard.crawl-work": ("seen", "house"),
    "guard.crawl-hazard": ("seen", "house"),
    "guard.pests": ("seen", "house"),
    "guard.structure": ("seen", "house"),
    "guard.refrigerant-listing": ("seen", "house"),
    "guard.refrigerant-work": ("seen", "house"),
    "guard.return-bath": ("seen", "bath-return"),
    "guard.return-kitchen": ("seen", "near-range"),
    "guard.return-kitchen-far": ("seen", "far-range"),
    "guard.return-small-room": ("seen", "small-room"),
    "guard.new-duct-system": ("seen", "house"),
    "guard.ducts-inside": ("roof", "house"),
    "guard.new-ducts-tested": ("seen", "house"),
    "guard.insulate-return": ("seen", "hall-return"),
    "guard.insulate-trunk": ("seen", "thin"),
    "guard.insulate-run": ("seen", "thin-run"),
    "guard.insulate-plenum": ("seen", "supply-plenum"),
    "guard.return-cavity": ("seen", "bay"),
    "guard.return-trunk-cavity": ("seen", "return-bay"),
    "guard.supply-trunk-cavity": ("seen", "supply-bay"),
    "guard.supply-run-cavity": ("seen", "bay-run"),
    "guard.garage-duct-return": ("seen", "bath-return"),
    "guard.garage-duct-trunk": ("seen", "supply-bay"),
    "guard.garage-duct-run": ("seen", "bay-run"),
    "guard.listed-closure": ("seen", "house"),
    "guard.attic-access": ("attic", "house"),
    "guard.attic-opening": ("attic", "house"),
    "guard.second-drain": ("seen", "house"),
    "guard.second-drain-attic": ("attic", "house"),
    "guard.not-eligible": ("seen", "house"),
    "guard.eligible-unknown": ("unanswered", "house"),
    "guard.sold-at-home": ("seen", "house"),
    "guard.maker-maximum": ("attic", "house"),
    "guard.maker-return-area": ("seen", "house"),
    "accept.maker-maximum": ("attic", "house"),
    "guard.manufactured-home": ("seen", "house"),
    "guard.manufactured-static": ("manufactured", "house"),
    "guard.crossover": ("seen", "halves"),
}
#: Rules that stay silent where each of their numbers and words is just on the good side, and at which place.
SILENT = {rule: place for rule, (where, place) in SPEAKS.items() if where == "seen"} | {
    "guard.heat-caution": "house", "guard.heat-high": "house", "guard.flame-not-watched": "range",
    "guard.gas-not-answered": "house", "guard.draft-not-worst": "indoors", "guard.eligible-unknown": "house",
    "guard.wet-not-looked": "house", "guard.falls-not-looked": "house", "guard.second-drain-attic": "house",
    "guard.attic-access": "house", "guard.attic-opening": "house", "guard.maker-maximum": "house",
    "guard.attic-floor": "house", "guard.manufactured-static": "house",
}  # fmt: skip


def _manufactured() -> Record:
    """Job 3390 as a manufactured home: what is planned stays below the label, not below nine tenths of it."""
    return _with("3390", house={"manufactured_home": "yes"}, new={"static_max": 0.62})


RECORDS["manufactured"] = _manufactured


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    with Session(POLICIES) as session:
        yield session


def _run(session: Session, record: Record, market: str = "") -> Record:
    text = tomli_w.dumps(deepcopy(record)).encode()
    return session.evaluate(parse_job(text, "job.toml"), market=market, check_both=True)


@pytest.fixture(scope="module")
def results(session: Session) -> dict[str, Record]:
    return {name: _run(session, make()) for name, make in RECORDS.items()}


def _firings(result: Record) -> set[str]:
    return {firing["id"] for firing in result["trace"]["firings"]}


def _fired(result: Record) -> set[str]:
    return {firing["rule"] for firing in result["trace"]["firings"]}


def _held(result: Record) -> dict[str, set[str]]:
    return {line["id"]: {hold["name"] for hold in line["held_by"]} for line in result["lines"]}


def _names(result: Record, part: str) -> set[str]:
    return {entry["name"] for entry in result[part]}


def test_every_rule_of_the_hazard_file_has_a_job_here() -> None:
    rules = {rule["id"] for rule in tomllib.loads(HAZARD_FILE.read_text())["rule"]}
    assert rules == set(SPEAKS)


@pytest.mark.parametrize("rule", sorted(SPEAKS))
def test_a_rule_speaks_where_its_fact_is(rule: str, results: dict[str, Record]) -> None:
    where, place = SPEAKS[rule]
    assert f"{rule}@{place}" in _firings(results[where])


@pytest.mark.parametrize("rule", sorted(SILENT))
def test_a_rule_is_silent_where_its_fact_is_narrowly_not(rule: str, results: dict[str, Record]) -> None:
    assert rule not in _fired(results["narrowly not"]) or f"{rule}@{SILENT[rule]}" not in _firings(
        results["narrowly not"]
    )


def test_stops_are_for_what_was_seen(results: dict[str, Record]) -> None:
    assert _names(results["seen"], "stops") >= {"gas-leave", "exchanger-off", "appliance-off", "heat-stop"}
    assert results["seen"]["sellable"]["answer"] == "no"
    assert results["unanswered"]["stops"] == []


def test_what_nobody_looked_for_holds_the_work_it_bears_on(session: Session) -> None:
    record = data("3390")
    assert all(not names for names in _held(_run(session, record)).values())
    for field in ("mould_like", "live_wiring", "structure_cut"):
        del record["house"][field]
    held = _held(_run(session, record))
    assert held["seal-ducts@house"] >= {"mould-like", "live-wiring"}
    assert held["add-return@living-route"] >= {"structure", "live-wiring"}
    assert not held["fan-setting@house"]


#: Words that a rule here asks for by their bad answer alone, and the rule that speaks of their unknown.
APART = {
    "gas_smell": "guard.gas-not-answered", "flame_moves": "guard.flame-not-watched",
    "exchanger_cracked": "guard.flame-not-watched", "wet": "guard.wet-not-looked", "roof_edge": "guard.falls-not-looked",
    "coil_over_finish": "guard.second-drain-attic",
}  # fmt: skip


def test_a_hazard_is_asked_for_with_its_unknown_or_its_unknown_has_a_rule() -> None:
    rules = tomllib.loads(HAZARD_FILE.read_text())["rule"]
    # No hazards but facts of the work: what is not new, not such a home or no such duct asks for nothing.
    facts = {"disturbed", "manufactured_home", "crossover", "gas_service"}
    for rule in rules:
        for field, asked in _words(rule):
            yes_no = any(field in k.fields and k.fields[field].words == YES_NO for k in KINDS.values())
            if yes_no and field not in facts and "yes" in asked and "unknown" not in asked:
                other = next(one for one in rules if one["id"] == APART[field])
                assert any(name == field and "unknown" in words for name, words in _words(other)), (rule["id"], field)


def _words(rule: Record) -> list[tuple[str, list[str]]]:
    clauses = [rule, *rule.get("when", []), *rule.get("any", []), *rule.get("unless", [])]
    found = [pair for clause in clauses for pair in clause.get("where", {}).items()]
    return [(field, [asked] if isinstance(asked, str) else asked) for field, asked in found]


def test_the_combustion_test_stands_before_the_work_and_again_last(session: Session) -> None:
    result = _run(session, data("2718"))
    order = {line["id"]: line["order"] for line in result["lines"] if line["state"] == "scoped"}
    assert order["combustion-test@closet"] < order["line-platform-return@closet-platform"]
    assert order["combustion-retest@closet"] == max(order.values())
    gates = {entry["check"] for entry in result["acceptance"] if entry["gate"]}
    assert {"draft", "spillage"} <= gates
    # No flame that takes air from the room: neither (E24).
    assert not [line for line in states(_run(session, data("5560"))) if line.startswith("combustion")]


def test_an_all_electric_house_is_asked_nothing_of_gas_or_flames(results: dict[str, Record], session: Session) -> None:
    fired = _fired(_run(session, data("5560")))
    assert not fired & {"guard.gas-not-answered", "guard.flame-not-watched", "guard.co-alarm", "guard.draft-not-worst"}


def test_a_code_line_outranks_a_decline_of_practice(session: Session) -> None:
    # Job 5560 is healthy, so practice declines sealing; a state that asks for it at replacement wins.
    assert "seal-ducts@house" not in states(_run(session, data("5560")))
    assert states(_run(session, data("5560"), "quillback-cove"))["seal-ducts@house"] == "scoped"


# ---------------------------------------------------------------- rules of the code layers


def test_every_rule_of_a_code_layer_speaks_in_some_job(session: Session) -> None:
    inside = _with("1042", house={"new_duct_share": 100, "return_path_space": "inside", "supply_path_space": "inside"})
    leaky = _with("1042", visit={"leakage_25": 300})
    short = _with("5560", house={"duct_outside": 39.9, "zone_dampers": "no"})
    item(short, "return", "closet-duct")["diameter"] = 20
    item(short, "return", "closet-duct")["bends"] = 1
    two = deepcopy(short)
    item(two, "return", "closet-duct")["diameter"] = 14
    _add(two, "return", {"id": "hall-duct", "diameter": 14, "length": 12, "bends": 2})
    outside = data("1042")
    outside["visit"].append({**deepcopy(outside["visit"][0]), "kind": "test-out", "unit": "new", "fan_setting": "high"})
    outside["visit"][-1] |= {"date": outside["dates"]["proposal"], "leakage_outside_25": 100}
    doors = _with("5560", house={"new_duct_share": 100})
    item(doors["visit"][0], "room", "bed-2")["door_pressure"] = 6
    bay = data("4471")
    bay["return"][0]["material"] = "bare-cavity"
    fired: set[str] = set()
    for record, market in (
        (inside, "juniper-sill"), (leaky, "juniper-sill"), (short, "juniper-sill"), (two, "juniper-sill"),
        (outside, "juniper-sill"), (doors, "quillback-cove"), (bay, "slatewater-gap"),
    ):  # fmt: skip
        fired |= _fired(_run(session, record, market))
    rules = {rule["id"] for path in CODES for rule in tomllib.loads(path.read_text()).get("rule", [])}
    # The two that a code layer cites anew are the trade's.
    assert {rule for rule in rules if rule.startswith("code.")} <= fired


def test_short_ducts_and_asbestos_are_excepted_from_the_test_at_replacement(session: Session) -> None:
    for feet, asked in ((39.9, False), (40, True)):
        record = _with("5560", house={"duct_outside": feet})
        assert ("leakage-test@house" in states(_run(session, record, "juniper-sill"))) is asked
    record = data("5560")
    record["material"] = [{"id": "wrap", "suspect_asbestos": "yes", "cut_needed": "no"}]
    assert "leakage-test@house" not in states(_run(session, record, "juniper-sill"))


def test_a_state_that_bans_supply_cavities_only_lets_a_return_in_a_bay_stay(session: Session) -> None:
    record = data("4471")
    record["return"][0] |= {"material": "bare-cavity", "disturbed": "yes"}
    _add(record, "run", {"id": "bay-run", "material": "bare-cavity", "disturbed": "yes"})
    banned = states(_run(session, record, "larchmere-notch"))
    assert {"line-cavity@return-drop", "line-cavity@bay-run"} <= set(banned)
    amended = _run(session, record, "slatewater-gap")
    assert "line-cavity@return-drop" not in states(amended)
    assert "line-cavity@bay-run" in states(amended)
    assert "cavity-return" in _names(amended, "cautions")
