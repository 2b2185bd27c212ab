"""airwarrant: decides, explains and proves the air-side work on a home air-conditioner replacement.

The public names are those of `__all__`; they are loaded when first asked for, so that a part (the formulas of `air`, say)
does not load the whole.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from airwarrant.calculations.registry import calculate
    from airwarrant.errors import (
        AirFault,
        AirwarrantError,
        EngineFault,
        Fault,
        InputError,
        PolicyError,
        RecordError,
        ResultError,
    )
    from airwarrant.job.reading_records import parse_job, read_job
    from airwarrant.policy.compose import compose
    from airwarrant.result.serial import digest, read_result, to_bytes
    from airwarrant.result.why import why
    from airwarrant.session import Session

__all__ = [
    "AirFault",
    "AirwarrantError",
    "EngineFault",
    "Fault",
    "InputError",
    "PolicyError",
    "RecordError",
    "ResultError",
    "Session",
    "calculate",
    "compose",
    "digest",
    "parse_job",
    "read_job",
    "read_result",
    "to_bytes",
    "why",
]

_HOMES = {
    "airwarrant.calculations.registry": ("calculate",),
    "airwarrant.errors": (
        "AirFault", "AirwarrantError", "EngineFault", "Fault", "InputError", "PolicyError", "RecordError", "ResultError",
    ),
    "airwarrant.job.reading_records": ("parse_job", "read_job"),
    "airwarrant.policy.compose": ("compose",),
    "airwarrant.result.serial": ("digest", "read_result", "to_bytes"),
    "airwarrant.result.why": ("why",),
    "airwarrant.session": ("Session",),
}  # fmt: skip


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(home), name)
    raise AttributeError(f"module 'airwarrant' has no attribute {name!r}")
