"""Every calculation by name, and the one way to run one."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Any

from airwarrant.calculations import (
    air_group,
    blower_group,
    distribution_group,
    duct_group,
    equipment_group,
    fitting_group,
    judging_group,
    leakage_group,
    network_group,
    opening_group,
)
from airwarrant.calculations.calculation import Calculation, Impossible, Key
from airwarrant.calculations.inputs import impossible, read_inputs
from airwarrant.calculations.measures import System
from airwarrant.errors import CallError, Fault, nearest

_GROUPS = (
    air_group.CALCULATIONS,
    duct_group.CALCULATIONS,
    fitting_group.CALCULATIONS,
    blower_group.CALCULATIONS,
    opening_group.CALCULATIONS,
    leakage_group.CALCULATIONS,
    distribution_group.CALCULATIONS,
    equipment_group.CALCULATIONS,
    judging_group.CALCULATIONS,
    network_group.CALCULATIONS,
)

CALCULATIONS: Mapping[str, Calculation] = MappingProxyType({one.name: one for group in _GROUPS for one in group})


@dataclass(frozen=True, slots=True)
class Calculated:
    """One run of a calculation.

    Attributes
    ----------
    calculation : str
    inputs, outputs : mapping
        By key with its unit's suffix, in the system asked for; inputs with their defaults.
    source : str
    valid : bool
        False if an input or an answer lies outside the formula's valid range; `warnings` says which.
    """

    calculation: str
    inputs: Mapping[str, Any]
    outputs: Mapping[str, Any]
    source: str
    valid: bool
    warnings: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the run as it is printed and traced."""
        return {
            "calculation": self.calculation,
            "inputs": dict(self.inputs),
            "outputs": dict(self.outputs),
            "source": self.source,
            "valid": self.valid,
            "warnings": list(self.warnings),
        }


def find(name: str) -> Calculation:
    """Return the calculation of a name.

    Raises
    ------
    CallError
        ``unknown-calculation``, with the nearest name.
    """
    if name not in CALCULATIONS:
        fault = Fault("unknown-calculation", f"`{name}`", ", ".join(CALCULATIONS), advice=nearest(name, CALCULATIONS))
        raise CallError([fault])
    return CALCULATIONS[name]


def calculate(name: str, given: Mapping[str, object], system: System = "ip") -> Calculated:
    """Run a calculation.

    Parameters
    ----------
    name : str
        One of `CALCULATIONS`.
    given : mapping
        Numbers (or their text), words and structures by key; a key's suffix says its unit.
    system : {"ip", "si"}
        Units of the answer; also of structures, whose parts carry suffixes of that system.

    Raises
    ------
    CallError
        Unknown calculation, and every fault of the keys; see `read_inputs`.
    """
    calculation = find(name)
    values, said = read_inputs(calculation, given, system)
    try:
        answer = calculation.function(**values)
    except Impossible as error:
        raise impossible(error, said) from error
    except ArithmeticError as error:
        raise _too_far(name) from error
    inputs = {key.name(system): _written(key, values[key.id], system) for key in calculation.inputs if key.id in values}
    outputs = {key.name(system): _written(key, answer.values[key.id], system) for key in calculation.outputs}
    if any(isinstance(value, float) and not isfinite(value) for value in outputs.values()):
        raise _too_far(name)
    warnings = answer.warnings
    return Calculated(name, inputs, outputs, calculation.source, not warnings, warnings)


def _too_far(name: str) -> CallError:
    """Finite numbers whose squares or quotients leave double precision: no air system has them."""
    return CallError(
        [Fault("impossible-input", "the numbers are too large or too far apart to calculate with", field=name)]
    )


def _written(key: Key, value: Any, system: System) -> Any:
    if key.write is not None:
        return key.write(value, system)
    if key.form != "number" or isinstance(value, str):
        return value
    return key.scales.of(system).written(value)
