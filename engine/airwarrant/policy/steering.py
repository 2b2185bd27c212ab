"""The policy values that the program itself reads: they steer the judging and the rounds, and must be there to evaluate."""

from collections.abc import Mapping
from types import MappingProxyType

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.policy.model import Policy
from airwarrant.units import same_dimension

#: name -> unit it is read in; ``word``: a word
STEERING = {"band_factor": "1", "rounds_most": "1", "gain_floor": "%", "doubt_when": "word"}

#: Parameters whose names begin so are assumptions of the air model.
ASSUMED = ("predict_", "season_", "load_")
#: Tables whose names begin so give the ± of readings that state none.
PLUS_MINUS = "plus_minus_"


def check_steering(policy: Policy, needed: Mapping[str, str] = MappingProxyType({})) -> None:
    """Raise `PolicyError` with every value that the program needs and does not find, or finds in another unit.

    `needed` names what the air model reads besides, each with a unit it must convert to.
    """
    faults = []
    market = policy.market.place
    for name, unit in {**STEERING, **needed}.items():
        parameter = policy.parameters.get(name)
        if parameter is None:
            advice = nearest(name, policy.parameters) or "The shipped trade layer has it."
            found = (
                f"the layers of market `{policy.market.name}` have no parameter `{name}`, which every evaluation reads"
            )
            faults.append(Fault("missing-value", found, place=market, advice=advice))
        elif not same_dimension(parameter.unit, unit) or isinstance(parameter.value, str) != (unit == "word"):
            place = parameter.keys["value"].place
            faults.append(Fault("unit", f"`{name}` is {parameter.value} {parameter.unit}", f"a value in {unit}", place))
    faults += _assumptions(policy)
    if faults:
        raise PolicyError(faults)


def _assumptions(policy: Policy) -> list[Fault]:
    """A share that the air model assumes lies within 0 to 100 %."""
    faults = []
    for name, parameter in policy.parameters.items():
        if (
            name.startswith(ASSUMED)
            and parameter.unit == "%"
            and not (not isinstance(parameter.value, str) and 0.0 <= parameter.value <= 100.0)
        ):
            place = parameter.keys["value"].place
            faults.append(Fault("out-of-range", f"`{name}` is {parameter.value} {parameter.unit}", "0 to 100 %", place))
    return faults
