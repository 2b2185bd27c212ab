"""Running a calculation that policy asks for, with the numbers it was given and where each came from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING, Any

from airwarrant.calculations.calculation import Key
from airwarrant.calculations.key_units import unit_of
from airwarrant.errors import CallError
from airwarrant.policy.model import Asked, Given, Ref
from airwarrant.rules.numbers import Number
from airwarrant.units import UNITS, convert, number

if TYPE_CHECKING:
    from airwarrant.calculations.registry import Calculated

#: Gives the number behind a reference, or nothing where it is unknown.
LookUp = Callable[[Ref], Number | None]


@dataclass(frozen=True, slots=True)
class Answered:
    """A calculation as it was run: `sources` holds, by key, the numbers that went into it."""

    asked: Asked
    done: "Calculated"
    sources: Mapping[str, tuple[Number, ...]]

    @property
    def value(self) -> float:
        """The output that was taken, in the unit of `asked`."""
        return float(self.done.outputs[self.asked.take])

    def output(self, name: str) -> tuple[str, float, str]:
        """An output's name without its unit, its value, and its unit."""
        key = _key(self.asked.calculate, name)
        return (key.stem or name).replace("_", " "), float(self.done.outputs[name]), unit_of(key)

    def as_json(self) -> dict[str, Any]:
        """Return the run for the result file, every number at its unit's fixed decimals."""
        data = self.done.as_json()
        for part in ("inputs", "outputs"):
            data[part] = {name: _fixed(self.asked.calculate, name, value) for name, value in data[part].items()}
        data["from"] = {name: [one.as_json() for one in numbers] for name, numbers in self.sources.items() if numbers}
        return data


def ask(asked: Asked, look_up: LookUp, share: int = 1) -> Answered | str:
    """Run a calculation.

    Parameters
    ----------
    asked : Asked
    look_up : callable
    share : int
        Equal ducts that share each flow.

    Returns
    -------
    Answered or str
        The text says why there is no answer: a number that is unknown, or one that cannot be.
    """
    from airwarrant.calculations.registry import calculate  # the command starts without the formulas

    given: dict[str, object] = {}
    sources: dict[str, tuple[Number, ...]] = {}
    for one in asked.given:
        if one.word:
            given[one.key] = one.word
            continue
        found = [look_up(ref) for ref in one.refs]
        parts = tuple(part for part in found if part is not None)
        if len(parts) < len(found):
            missing = next(ref.name for ref, part in zip(one.refs, found, strict=True) if part is None)
            return f"{asked.calculate} needs {one.key}: {missing} is not known"
        key = _key(asked.calculate, one.key)
        given[one.key] = _value(one, parts, unit_of(key)) / (share if key.measure == "flow" else 1)
        sources[one.key] = parts
    try:
        return Answered(asked, calculate(asked.calculate, given), sources)
    except CallError as error:
        return f"{asked.calculate}: " + "; ".join(f"{fault.field} {fault.found}" for fault in error.faults)


def _value(given: Given, parts: tuple[Number, ...], unit: str) -> float:
    if len(given.refs) == 1:
        return convert(parts[0].value, parts[0].unit, unit)
    return prod(convert(p.value, p.unit, "1") if p.unit == "%" else p.value * UNITS[p.unit].factor for p in parts) / (
        UNITS[unit].factor
    )


def _key(calculation: str, name: str) -> Key:
    from airwarrant.calculations.registry import CALCULATIONS

    held = CALCULATIONS[calculation]
    return next(key for key in (*held.inputs, *held.outputs) if key.name("ip") == name)


def _fixed(calculation: str, name: str, value: Any) -> Any:
    """A number as it is written: digits beyond a unit's decimals differ from machine to machine."""
    if not isinstance(value, float):
        return value
    unit = unit_of(_key(calculation, name))
    return number(value, unit) if unit and unit != "1" else float(format(value, ".6g"))
