"""Every code of a finding of the analysis, and whether it is an error or a warning.

An error would do harm on a job, or can never do anything; a warning makes nothing wrong. `policies/CHECKS.md` has an entry for each.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

Severity = Literal["error", "warning"]

CODES: Mapping[str, Severity] = MappingProxyType(
    {
        "contradiction": "error",
        "unreachable-rule": "error",
        "unreachable-by-layer": "error",
        "hazard-unknown": "error",
        "duplicate-rule": "warning",
        "shadowed-rule": "warning",
        "table-gap": "warning",
        "kind-gap": "warning",
        "region-gap": "warning",
        "odd-limit": "warning",
        "unread-value": "warning",
        "unread-check": "warning",
        "same-override": "warning",
        "future-layer": "warning",
        "expired-layer": "warning",
        "vague-citation": "warning",
        "look-alike": "warning",
    }
)
