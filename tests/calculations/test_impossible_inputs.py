"""Impossible input is refused with the name of its key: every key of every calculation."""

import math
from collections.abc import Iterator
from typing import Any

import pytest

from airwarrant.calculations.calculation import Key
from airwarrant.calculations.measures import System
from airwarrant.calculations.registry import CALCULATIONS, calculate
from airwarrant.errors import CallError
from calculations.asking import CALLS, changed, faults


def _cases() -> Iterator[tuple[str, str, object, str]]:
    """(call, key, value that cannot be, code) for every key that a call gives, in its own name."""
    for call, (name, given) in CALLS.items():
        for key in CALCULATIONS[name].inputs:
            written = next((one for one in key.names() if one in given), None)
            if written is not None:
                for value, code in _impossible(key):
                    yield call, written, value, code


def _impossible(key: Key) -> list[tuple[object, str]]:
    if key.form == "word":
        return [("no-such-word", "wrong-value"), ("", "wrong-value"), (3, "wrong-value")]
    if key.form == "structure":
        return [(value, "impossible-input") for value in (7, "nonsense", [], [3], [[]], [{}], {"x": 1})]
    numbers: list[tuple[object, str]] = [(bad, "impossible-input") for bad in (math.nan, math.inf, -math.inf, "nan")]
    numbers += [(bad, "wrong-value") for bad in ("many", "1_000", True, [1], None)]
    if key.bound == "positive":
        numbers += [(0, "impossible-input"), (-1, "impossible-input")]
    if key.bound == "not-negative":
        numbers += [(-1e-9, "impossible-input")]
    if key.measure == "temperature":
        numbers += [(-500, "impossible-input")]
    return numbers


@pytest.mark.parametrize(("call", "key", "value", "code"), list(_cases()))
def test_what_cannot_be_is_refused_by_its_key(call: str, key: str, value: object, code: str) -> None:
    name, given = CALLS[call]
    assert faults(name, **(given | {key: value})) == [(code, key)]


def test_every_key_of_every_calculation_is_among_them() -> None:
    tried = {(CALLS[call][0], key) for call, key, *_ in _cases()}
    for name, calculation in CALCULATIONS.items():
        for key in calculation.inputs:
            defaulted = key.default is not None
            assert defaulted or any((name, written) in tried for written in key.names()), (name, key.id)


@pytest.mark.parametrize("system", ["ip", "si"])
@pytest.mark.parametrize("name", sorted(CALCULATIONS))
def test_every_default_key_refuses_what_cannot_be(name: str, system: System) -> None:
    for key in CALCULATIONS[name].inputs:
        if key.default is None or key.form != "number":
            continue
        given: dict[str, Any] = {key.name(system): "nan"}
        with pytest.raises(CallError) as caught:
            calculate(name, given, system)
        assert ("impossible-input", key.name(system)) in [(f.code, f.field) for f in caught.value.faults]


@pytest.mark.parametrize("system", ["ip", "si"])
@pytest.mark.parametrize("name", sorted(CALCULATIONS))
def test_a_missing_key_is_named_in_the_units_asked_for(name: str, system: System) -> None:
    needed = [key.name(system) for key in CALCULATIONS[name].inputs if key.default is None and not key.optional]
    with pytest.raises(CallError) as caught:
        calculate(name, {}, system)
    assert sorted(f.field for f in caught.value.faults if f.code == "missing-key") == sorted(needed)


@pytest.mark.parametrize(
    ("name", "change", "key"),
    [
        ("fitting-loss", {"fitting": "elbow-gored", "pieces": 6, "angle_deg": None}, "pieces"),
        ("fitting-loss", {"angle_deg": 181}, "angle_deg"),
        (
            "fitting-loss",
            {"fitting": "expansion", "area_ratio": 1.1, "radius_ratio": None, "angle_deg": None},
            "area_ratio",
        ),
        (
            "fitting-loss",
            {"fitting": "grille", "free_ratio": 1.1, "radius_ratio": None, "angle_deg": None},
            "free_ratio",
        ),
        ("fitting-loss", {"fitting": "damper-butterfly", "angle_deg": 91, "radius_ratio": None}, "angle_deg"),
        ("fitting-loss", {"vanes": "long"}, "vanes"),
        ("fitting-loss", {"reynolds": 1e5}, "reynolds"),
        ("duct-friction", {"sag": 0.9}, "sag"),
        ("duct-friction", {"sag": 1.2, "material": "lined", "compression_pct": 0}, "sag"),
        ("duct-size", {"compression_pct": 5}, "compression_pct"),
        ("flex-compression", {"compression_pct": 100}, "compression_pct"),
        ("air-state", {"temp_f": 250, "rh_pct": 100}, "rh_pct"),
        ("sensible-heat", {"altitude_ft": 150000}, "altitude_ft"),
        ("temperature-rise", {"altitude_ft": 150000}, "altitude_ft"),
        ("door-pressure", {"discharge": 1.01}, "discharge"),
        ("transfer-area", {"net_free_ratio": 1.01}, "net_free_ratio"),
        ("distribution", {"supply_leak_cfm": 1200}, "supply_leak_cfm"),
        ("distribution", {"regain_supply": 1.1}, "regain_supply"),
        ("distribution", {"regain_return": 1.1}, "regain_return"),
    ],
)
def test_what_only_together_cannot_be_names_its_key(name: str, change: dict[str, object], key: str) -> None:
    assert faults(name, **changed(name, change)) == [("impossible-input", key)]
