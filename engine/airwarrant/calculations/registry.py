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
    run_group,
)
from airwarrant.calculations.calculation import Calculation, Impossible, Key
from airwarrant.calculations.inputs import impossible, read_inputs
from airwarrant.calculations.measures import System
from airwarrant.errors import CallError, Fault, nearest

_GROUPS = (
    air_group.CALCULATIONS,
    duct_group.CALCULATIONS,
    run_group.CALCULATIONS,
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
    left_range : tuple of str
        A line for each valid range of the formula that an input or an answer lies outside.
    cautions : tuple of str
        What a reader must know although the answer stands within its range.
    """

    calculation: str
    inputs: Mapping[str, Any]
    outputs: Mapping[str, Any]
    source: str
    left_range: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def valid(self) -> bool:
        """Whether all stands within the formula's valid range."""
        return not self.left_range

    @property
    def warnings(self) -> tuple[str, ...]:
        """Every line for the reader."""
        return self.left_range + self.cautions

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
        raise impossible(error, said, system) from error
    except ArithmeticError as error:
        raise _too_far(name) from error
    inputs = {key.name(system): _written(key, values[key.id], system) for key in calculation.inputs if key.id in values}
    outputs = {key.name(system): _written(key, answer.values[key.id], system) for key in calculation.outputs}
    if any(isinstance(value, float) and not isfinite(value) for value in outputs.values()):
        raise _too_far(name)
    left, cautions = (tuple(line.written(system) for line in lines) for lines in (answer.warnings, answer.cautions))
    return Calculated(name, inputs, outputs, calculation.source, left, cautions)


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
