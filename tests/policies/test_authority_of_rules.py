"""On what each rule rests: safety, law, the maker's listing, data, an exclusion or practice.

The order of the trade, stricter first (stop and life safety, adopted law, listing, data, exclusions, scope), decides which vote on a
line wins. A rule's rank follows from its catalogue group and from what it concludes; who differs is named here, by what it guards.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from jobs import POLICIES

_ID = re.compile(r'^id = "([^"]+)"\s*(?:#\s*(.*))?$', re.MULTILINE)
_GROUP = re.compile(r"\b([A-Z]{2})-\d+")

#: Rules that rank otherwise than their group, by what they rest on.
APART: Mapping[str, tuple[str, ...]] = {
    # What can hurt: air from a flame, a garage, old wrap, wet duct; a wet or wrapped place that would be closed; instruments that a
    # combustion test hangs on.
    "safety": (
        "guard.seal-over-wet", "guard.seal-over-wrap", "guard.look-before-sealing", "guard.no-cloth-tape", "guard.damp-run",
        "guard.damp-trunk", "guard.damp-return", "guard.damp-plenum", "guard.make-up-air", "guard.zone-not-surveyed",
        "trust.old-instruments-zones", "trust.wind-zones", "trust.measure-first", "scope.combustion-again", "guard.cure",
        "guard.draft-untested", "guard.leak-at-flame", "cross.lead-not-answered", "cross.lead-not-tested", "cross.asbestos-not-answered",
        "cross.asbestos-not-listed", "cross.gas-without-appliance",
    ),
    # Adopted text that forbids or asks, in whatever group it stands.
    "code": (
        "guard.new-return-source", "guard.return-flame-unmeasured", "guard.return-source-unknown", "guard.return-near-flame",
        "guard.return-source", "guard.co-alarm", "guard.refrigerant-listing",
    ),
    # The label and papers of the unit.
    "listing": (
        "find.rise-off-label", "guard.nameplate", "guard.maker-minimum", "guard.heat-rise", "guard.maker-maximum",
        "guard.maker-return-area", "accept.listing", "accept.heat-rise", "accept.maker-maximum",
    ),
    # Something has to be known, or done, before this can be decided.
    "data": (
        "grow.system-airflow-first", "grow.no-capacity", "scope.elbow-access-unknown", "scope.look-along-return", "scope.door-waits",
    ),
    # Said and done by custom, though the group is another.
    "practice": (
        "guard.new-duct-system", "guard.ducts-inside", "grow.reread-door", "grow.reread-door-unbalanced", "scope.finer-filter",
        "grow.complaint-in-doubt", "scope.reread-after-balance",
    ),
}  # fmt: skip


def _rules() -> Iterator[tuple[dict[str, Any], str]]:
    """Every rule that says what follows, with the comment beside its id; a later layer's part of a rule is none."""
    for folder in ("trade", "codes", "regions", "companies"):
        for file in sorted((POLICIES / folder).rglob("*.toml")):
            text = file.read_text()
            comments = {match[1]: match[2] or "" for match in _ID.finditer(text)}
            for rule in tomllib.loads(text).get("rule", []):
                if "then" in rule:
                    yield rule, comments.get(rule["id"], "")


def expected_authority(rule: Mapping[str, Any], comment: str) -> str:
    """The rank of a rule, from its group, what it concludes, and who stands apart."""
    apart = next((authority for authority, named in APART.items() if rule["id"] in named), None)
    if apart is not None:
        return apart
    prefix, groups = rule["id"].partition(".")[0], _GROUP.findall(comment)
    concluded = {kind for then in rule["then"] for kind in then}
    of_law = prefix == "code" or (prefix == "guard" and "LW" in groups[:1])
    if "stop" in concluded:
        return "safety"
    if "decline" in concluded:
        return "exclusion"
    if of_law:
        return "code"
    if any(then.get("gate") for then in rule["then"]):
        return "safety"
    if any(then.get("tier") == "required" for then in rule["then"]):
        return "safety"
    if prefix == "guard" and "HZ" in groups[:1]:
        return "safety"
    if prefix in ("trust", "cross") or concluded & {"retest", "doubt"}:
        return "data"
    return "practice"


RULES = list(_rules())


def test_there_are_rules() -> None:
    assert len(RULES) > 300
    assert {name for named in APART.values() for name in named} <= {rule["id"] for rule, _ in RULES}


@pytest.mark.parametrize(("rule", "comment"), RULES, ids=[rule["id"] for rule, _ in RULES])
def test_a_rule_ranks_as_what_it_rests_on(rule: dict[str, Any], comment: str) -> None:
    assert rule.get("authority", "practice") == expected_authority(rule, comment)
