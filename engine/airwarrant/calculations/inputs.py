"""Reading a calculation's inputs: names, units, bounds; all faults at once, each with the key as it was given."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from airwarrant.calculations.calculation import Calculation, Impossible, Key, written
from airwarrant.calculations.measures import System
from airwarrant.errors import CallError, Fault, nearest


def read_inputs(
    calculation: Calculation, given: Mapping[str, object], system: System
) -> tuple[dict[str, Any], dict[str, str]]:
    """Read given keys into SI values by key id.

    Returns
    -------
    (dict, dict)
        Values by id, and for each id the name it was given by.

    Raises
    ------
    CallError
        With a fault for every key that is unknown (``unknown-key``), given twice (``duplicate-key``), missing
        (``missing-key``), not a number or word of its list (``wrong-value``), or impossible (``impossible-input``).
    """
    owner = {name: key for key in calculation.inputs for name in key.names()}
    faults: list[Fault] = []
    values: dict[str, Any] = {}
    said: dict[str, str] = {}
    for name, raw in given.items():
        key = owner.get(name)
        if key is None:
            known = [k.name(system) for k in calculation.inputs]
            advice = nearest(name, known) or nearest(name, owner)
            faults.append(
                Fault(
                    "unknown-key", f"`{calculation.name}` has no such key", ", ".join(known), field=name, advice=advice
                )
            )
            continue
        if key.id in said:
            faults.append(Fault("duplicate-key", f"is `{said[key.id]}` again", "one of them", field=name))
            continue
        said[key.id] = name
        value = read_value(key, name, raw, system)
        if isinstance(value, Fault):
            faults.append(value)
        else:
            values[key.id] = value
    for key in calculation.inputs:
        if key.id in said:
            continue
        name = said[key.id] = key.name(system)
        if key.default is not None:
            values[key.id] = key.scales.ip.to_si(key.default) if isinstance(key.default, float) else key.default
        elif not key.optional:
            shown = ", ".join(key.words) if key.form == "word" else ""
            faults.append(Fault("missing-key", f"`{calculation.name}` needs it", shown, field=name))
    if faults:
        raise CallError(faults)
    return values, said


def impossible(error: Impossible, said: Mapping[str, str], system: System) -> CallError:
    """The fault of an input that cannot be, under the name it was given by."""
    return CallError([_fault(error, said.get(error.key, error.key), system)])


def _fault(error: Impossible, name: str, system: System) -> Fault:
    return Fault(error.code, written(error.found, system), written(error.allowed, system), field=name)


def read_value(key: Key, name: str, raw: object, system: System) -> Any:
    """Read one key into SI, or say what is wrong with it as a `Fault` under the name it was given by."""
    if key.form == "structure":
        try:
            return key.read(raw, system) if key.read else raw
        except Impossible as error:
            return _fault(error, name, system)
    if key.form == "word":
        text = str(raw)
        if text in key.words:
            return text
        return Fault("wrong-value", f"`{text}`", ", ".join(key.words), field=name, advice=nearest(text, key.words))
    number = as_number(raw)
    if number is None:
        return Fault("wrong-value", f"`{raw}` is not a number", "a number", field=name)
    if not isfinite(number):
        return Fault("impossible-input", f"`{raw}` is not finite", "a finite number", field=name)
    value = key.names()[name](number)
    if not isfinite(value):
        return Fault("impossible-input", f"`{raw}` is too large to calculate with", field=name)
    if key.bound == "positive" and number <= 0.0:
        return Fault("impossible-input", f"{number:g}", "more than 0", field=name)
    if key.bound == "not-negative" and number < 0.0:
        return Fault("impossible-input", f"{number:g}", "0 or more", field=name)
    if key.measure == "temperature" and value <= 0.0:
        return Fault("impossible-input", f"{number:g} lies at or below absolute zero", field=name)
    return value


def as_number(raw: object) -> float | None:
    """Read a number given as text, integer or float; True and text like ``1_000`` are none."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        return None
    if isinstance(raw, str) and "_" in raw:
        return None
    try:
        return float(raw)
    except (ValueError, OverflowError):
        return None
