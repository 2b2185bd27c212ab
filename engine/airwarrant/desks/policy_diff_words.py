"""What a policy difference says besides its sentences: names of groups, who reads a block, and all of it as plain data."""

from collections.abc import Mapping
from typing import Any

from airwarrant.desks.policy_diff import PolicyDiff
from airwarrant.desks.policy_diff_points import FOLDED, Difference, Group, Point
from airwarrant.desks.policy_diff_voice import Side, Source

TITLES: Mapping[Group, str] = {
    "market": "The markets themselves",
    "limits": "Limits, tables, figures and checks",
    "rules": "Rules",
    "work": "Tasks",
    "prices": "Prices",
    "sources": "Same value; source, right or note differ",
    "wording": "Wording",
}
#: So many names are told; more are counted.
_MOST = 5


def read_by(one: Difference) -> str:
    """Say who reads a block, the rules and tasks that change with it; empty where nobody does."""
    parts = []
    for what, names in (
        ("check", one.readers.checks),
        ("rule", one.readers.rules),
        ("task", one.readers.tasks),
        ("price", one.readers.prices),
    ):
        if len(names) > _MOST:
            parts.append(f"{len(names)} {what}s")
        elif names:
            parts.append(f"{what}{'s' if len(names) > 1 else ''} {', '.join(names)}")
    if one.readers.program:
        parts.append(f"the program, in {one.readers.program}")
    return "; ".join(parts)


def data_of(found: PolicyDiff) -> dict[str, Any]:
    """Return a difference as JSON has it."""
    return {
        "a": _side(found.a),
        "b": _side(found.b),
        "groups": [
            {
                "group": group,
                "title": TITLES[group],
                "folded": group in FOLDED,
                "differences": [_difference(one) for one in found.group(group)],
            }
            for group in found.groups
        ],
    }


def _side(side: Side) -> dict[str, Any]:
    on = side.on.isoformat() if side.on else None
    policy = side.policy
    return {
        "market": side.market,
        "on": on,
        "title": policy.market.title,
        "digest": policy.digest,
        "in_force": [list(layer) for layer in policy.layers],
    }


def _difference(one: Difference) -> dict[str, Any]:
    readers = one.readers
    return {
        "section": one.section,
        "name": one.name,
        "title": one.title,
        "kind": one.kind,
        "edit": one.edit,
        "authority": one.authority,
        "sentence": one.sentence,
        "points": [_point(point) for point in one.points],
        "about": [_point(point) for point in one.about],
        "read_by": {
            "figures": list(readers.figures),
            "checks": list(readers.checks),
            "rules": list(readers.rules),
            "tasks": list(readers.tasks),
            "prices": list(readers.prices),
            "program": readers.program,
        },
    }


def _point(point: Point) -> dict[str, Any]:
    return {
        "what": point.what,
        "a": point.a,
        "b": point.b,
        "a_from": _source(point.a_from),
        "b_from": _source(point.b_from),
        "says": point.says,
    }


def _source(source: Source | None) -> dict[str, Any] | None:
    if source is None:
        return None
    place = source.place
    return {
        "layer": source.layer,
        "effective": source.effective,
        "file": place.file,
        "line": place.line,
        "column": place.column,
    }
