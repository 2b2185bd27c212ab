"""What a target comes to, and the answer: the worst of all that was found, and each reason."""

from collections.abc import Iterable, Mapping
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.rules.verdict import Verdict

PASS, CONDITIONAL, FAIL = "pass", "conditional", "fail"
#: What a target may come to, and what that makes of the answer; a gate that was not read fails.
COMES_TO = {
    "met": PASS,
    "close": CONDITIONAL,
    "agree": CONDITIONAL,
    "not-read": CONDITIONAL,
    "no-limit": CONDITIONAL,
    "missed": FAIL,
    "gate": FAIL,
    "gate-not-read": FAIL,
}


def status_of(verdict: Verdict | None, limited: bool, gate: bool, agreed: bool) -> str:
    """What a target came to; without a reading it has not passed, whatever else."""
    if verdict is None or verdict.reading is None:
        if not limited:
            return "no-limit"
        return "gate-not-read" if gate else "not-read"
    if verdict.limit is None:
        return "no-limit"
    if verdict.word == "pass":
        return "met"
    if verdict.word == "close":
        return "close"
    return "gate" if gate else "agree" if agreed else "missed"


def answer_of(
    targets: Iterable[Mapping[str, Any]], conditions: Iterable[Mapping[str, Any]], stops: Iterable[str]
) -> tuple[str, list[dict[str, Any]]]:
    """The worst of all that was found, and each reason, the gravest first."""
    why: list[dict[str, Any]] = [
        {"comes_to": FAIL, "status": "stop", "of": "", "title": "", "place": HOUSE_KEY, "name": HOUSE_KEY, "said": said}
        for said in stops
    ]
    why += [
        {
            "comes_to": one["comes_to"],
            "status": one["status"],
            "of": one["check"],
            "title": one["title"],
            "place": one["place"],
            "name": one["name"],
            "said": one["agree"] or one["said"],
            "after": one["after"],
            "must_be": one["must_be"],
            "limit": one["limit"],
        }
        for one in targets
        if one["comes_to"] != PASS
    ]
    why += [
        {
            "comes_to": CONDITIONAL,
            "status": "condition",
            "of": one["name"],
            "title": one["title"],
            "place": HOUSE_KEY,
            "name": HOUSE_KEY,
            "said": one["said"],
        }
        for one in conditions
        if not one["fine"]
    ]
    why = _together(why)
    order = {"stop": 0, "gate": 1, "gate-not-read": 2, "missed": 3, "agree": 4, "close": 5}
    why.sort(key=lambda one: (one["comes_to"] != FAIL, order.get(one["status"], 6)))
    answer = FAIL if any(one["comes_to"] == FAIL for one in why) else CONDITIONAL if why else PASS
    return answer, why


def _together(why: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """What was not read of one target in several places is said once."""
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for one in why:
        key = (one["status"], one["of"], "" if one["status"] in ("not-read", "no-limit") else one["place"])
        if key in found:
            found[key]["name"] += f", {one['name']}"
        else:
            found[key] = one
    return list(found.values())
