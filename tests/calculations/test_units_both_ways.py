"""The same call in inch-pound and SI units: every calculation, every key, every warning."""

import math
from collections.abc import Iterator
from typing import Any

import pytest

from airwarrant.calculations.calculation import Key
from airwarrant.calculations.registry import CALCULATIONS, Calculated, calculate
from calculations.asking import CALLS, ORDINARY, changed
from calculations.out_of_range import OUT_OF_RANGE

# Conversions round a few times in double precision; 1e-12 is a thousand of its steps.
SAME = 1e-12


def _given(key: Key, raw: object) -> object:
    """What was given in inch-pound units as the SI call takes it."""
    if key.form != "structure":
        return raw
    assert key.read is not None
    assert key.write is not None
    return key.write(key.read(raw, "ip"), "si")


def _in_si(name: str, call: dict[str, object]) -> dict[str, object]:
    owner = {written: key for key in CALCULATIONS[name].inputs for written in key.names()}
    return {written: _given(owner[written], raw) for written, raw in call.items()}


def _numbers(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _numbers(one, f"{path}.{key}")
    elif isinstance(value, list):
        for at, one in enumerate(value):
            yield from _numbers(one, f"{path}[{at}]")
    else:
        yield path, value


def _same(one: Calculated, other: Calculated) -> None:
    here, there = dict(_numbers(dict(one.outputs))), dict(_numbers(dict(other.outputs)))
    assert here.keys() == there.keys()
    for path, value in here.items():
        if isinstance(value, float) and not path.startswith(".residual"):  # rounding itself, near zero
            assert there[path] == pytest.approx(value, rel=SAME, abs=1e-15), path
        elif isinstance(value, str):
            assert there[path] == value, path


@pytest.mark.parametrize("call", CALLS)
def test_there_and_back(call: str) -> None:
    name, given = CALLS[call]
    ip = calculate(name, given)
    first = calculate(name, _in_si(name, given), "si")
    second = calculate(name, first.inputs, "si")
    back = calculate(name, _back(name, second), "ip")
    again = calculate(name, ip.inputs, "ip")
    _same(first, second)
    _same(ip, back)
    _same(ip, again)
    assert (first.valid, back.valid) == (ip.valid, ip.valid)


def _back(name: str, done: Calculated) -> dict[str, object]:
    """SI inputs as given in the trade's units."""
    found: dict[str, object] = {}
    for key in CALCULATIONS[name].inputs:
        if key.name("si") in done.inputs:
            raw = done.inputs[key.name("si")]
            if key.form == "structure":
                assert key.read is not None
                assert key.write is not None
                found[key.name("ip")] = key.write(key.read(raw, "si"), "ip")
            elif key.form == "word":
                found[key.name("ip")] = raw
            else:
                found[key.name("ip")] = key.scales.ip.from_si(key.scales.si.to_si(raw))
    return found


@pytest.mark.parametrize("call", CALLS)
def test_answers_are_one_quantity_in_two_units(call: str) -> None:
    name, given = CALLS[call]
    ip, si = calculate(name, given), calculate(name, _in_si(name, given), "si")
    for key in CALCULATIONS[name].outputs:
        if key.form == "number":
            here = key.scales.ip.to_si(ip.outputs[key.name("ip")])
            assert here == pytest.approx(key.scales.si.to_si(si.outputs[key.name("si")]), rel=SAME), key.id


def _each_key() -> Iterator[tuple[str, str, str]]:
    for call, (name, given) in CALLS.items():
        for key in CALCULATIONS[name].inputs:
            here = [written for written in key.names() if written in given]
            for written in here:
                for other in key.names():
                    if other != written and key.form == "number":
                        yield call, written, other


@pytest.mark.parametrize(("call", "written", "other"), list(_each_key()))
def test_any_key_may_be_given_in_any_of_its_units(call: str, written: str, other: str) -> None:
    name, given = CALLS[call]
    key = next(key for key in CALCULATIONS[name].inputs if written in key.names())
    scale = next(s for s in key.scales.all if key._with(s.suffix) == other)
    value = key.names()[written](float(str(given[written])))
    swapped = {other if one == written else one: raw for one, raw in given.items()}
    swapped[other] = scale.from_si(value)
    _same(calculate(name, given), calculate(name, swapped))


#: Words of inch-pound units; no line of an SI answer may hold one. Pa is in both: the trade reads room pressure in it.
INCH_POUND = (" in.", "in. w.c.", " ft", "°F", "cfm", "fpm", "Btu", "psi", " lb", " in2")
METRIC = (" m ", " mm", " m/s", "°C", "L/s", "kPa", " K", "m3", "cm2", " W", " kg")


@pytest.mark.parametrize(("name", "change"), OUT_OF_RANGE)
def test_a_warning_speaks_the_units_asked_for(name: str, change: dict[str, object]) -> None:
    call = changed(name, change)
    ip, si = calculate(name, call), calculate(name, _in_si(name, call), "si")
    assert len(ip.warnings) == len(si.warnings)
    assert not [line for line in si.warnings if any(unit in line + " " for unit in INCH_POUND)]
    assert not [line for line in ip.warnings if any(unit in line + " " for unit in METRIC)]


def test_a_warnings_numbers_are_converted() -> None:
    call = ORDINARY["flex-compression"] | {"diameter_in": 20}
    (ip,), (si,) = (
        calculate("flex-compression", call).warnings[:1],
        calculate("flex-compression", call, "si").warnings[:1],
    )
    assert "6 to 16 in." in ip
    assert "152 to 406 mm" in si  # 6 and 16 times 25.4


def test_a_refusal_speaks_the_units_asked_for() -> None:
    for system, text in (("ip", "below 144,000 ft"), ("si", "below 44,000 m")):
        with pytest.raises(Exception, match=text):
            calculate("air-state", {"altitude_m": 50000}, system)  # type: ignore[arg-type]


@pytest.mark.parametrize("measure_value", [0.0, -40.0, 1e-9, 12345.678, 1e12])
def test_a_scale_undoes_itself(measure_value: float) -> None:
    for calculation in CALCULATIONS.values():
        for key in (*calculation.inputs, *calculation.outputs):
            for scale in key.scales.all:
                back = scale.from_si(scale.to_si(measure_value))
                # Temperatures lose the digits of the offset: 460 in 1e-16.
                assert math.isclose(back, measure_value, rel_tol=1e-14, abs_tol=2e-13)
