"""The limit of a target, and whose it is: the maker's, the law's, or the policy's by its own source."""

from collections.abc import Mapping
from typing import Any

from airwarrant.desks.tested_out import TestedOut
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import Check, Policy
from airwarrant.rules.numbers import Number
from airwarrant.rules.verdict import Verdict
from airwarrant.units import number


def limit_of(job: TestedOut, verdict: Verdict | None, entry: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The limit as it stands at test-out, else as the result had it; with whose it is."""
    if verdict is not None and verdict.limit is not None and verdict.reading is not None:
        limit = verdict.limit
        return {**_whose(job.run.policy, limit), "value": number(limit.value, limit.unit), "unit": limit.unit}
    if entry is None or entry["limit"] is None:
        return None
    return {
        **_whose_of(job.run.policy, job.run.policy.checks[entry["check"]]),
        "value": entry["limit"],
        "unit": entry["unit"],
    }


def _whose_of(policy: Policy, check: Check) -> dict[str, Any]:
    """Whose the limit of a check is that nobody judged: by what it refers to first."""
    first = check.limits[0]
    for ref in (first.of, first.less, first.more):
        if ref is not None and ref.form in ("parameter", "table"):
            return _whose(policy, Number(ref.form, ref.name, 0.0, ref.unit))
    timed = KINDS[HOUSE_KEY].fields.get(first.of.name)
    return {"whose": "label" if timed is not None and timed.timed else "record", "cite": ""}


def _whose(policy: Policy, limit: Number) -> dict[str, Any]:
    """Whose a limit is: the maker's label, the law's, or a policy value's by its own source."""
    if limit.form == "reading":
        return {"whose": "label" if limit.state == "record" else "record", "cite": ""}
    named = policy.parameters.get(limit.name) or policy.tables.get(limit.name)
    if named is None:
        inner = next((_whose(policy, part) for part in limit.parts if part.form in ("parameter", "table")), None)
        return inner or {"whose": "record", "cite": ""}
    value = named.keys["value" if limit.name in policy.parameters else "rows"]
    basis = named.basis
    cite = ", ".join(str(basis[key]) for key in ("cite", "edition") if basis.get(key))
    return {"whose": "law" if value.layer.startswith("codes/") else str(basis["kind"]), "cite": cite}
