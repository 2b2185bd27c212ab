"""What the air model takes of a policy."""

from airwarrant.house.assumptions import Assumptions
from airwarrant.policy.model import Policy
from airwarrant.policy.steering import ASSUMED, PLUS_MINUS
from airwarrant.units import UNITS, to_si


def assumptions_of(policy: Policy) -> Assumptions:
    """What the air model reads of a policy, in SI."""
    values = {
        name: to_si(float(p.value), p.unit)
        for name, p in policy.parameters.items()
        if name.startswith(ASSUMED) and not isinstance(p.value, str)
    }
    plus_minus = {
        str(row[0]): (float(row[1]) * UNITS[table.unit].factor, table.unit == "%")
        for name, table in policy.tables.items()
        if name.startswith(PLUS_MINUS)
        for row in table.rows
    }
    return Assumptions(values, plus_minus)
