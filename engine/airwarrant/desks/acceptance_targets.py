"""Targets of a test-out: before, predicted and after beside the limit, and what each came to."""

from collections.abc import Iterator, Mapping
from typing import Any

from airwarrant.desks.acceptance_answer import COMES_TO, status_of
from airwarrant.desks.acceptance_limits import limit_of
from airwarrant.desks.tested_out import TestedOut
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.test_out import KIND
from airwarrant.policy.model import Check
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.numbers import Number
from airwarrant.units import number

#: The finding by which a rule says that a target it reads is agreed in writing instead of failed.
AGREED = "agree-in-writing"


def targets_of(job: TestedOut) -> list[dict[str, Any]]:
    """Return every target, gates and combustion last: those the rules ask for now, and those of the result that stay."""
    return _Targets(job).all()


class _Targets:
    def __init__(self, job: TestedOut) -> None:
        self._job = job
        self._stored = {one["id"]: one for one in job.result["verdicts"]}

    def all(self) -> list[dict[str, Any]]:
        agreed = self._agreed()
        asked: dict[tuple[str, str], dict[str, Any]] = {}
        for entry in self._job.result["acceptance"]:
            asked[entry["check"], entry["place"]] = {"gate": entry["gate"], "entry": entry, "firing": entry["firing"]}
        now: dict[tuple[str, str], dict[str, Any]] = {}
        for vote in self._job.run.votes:
            if vote.then.what == "target":
                key = (vote.then.name, vote.place)
                held = now.get(key)
                gate = vote.then.gate or (held is not None and held["gate"])
                now[key] = {
                    "gate": gate,
                    "entry": (asked.get(key) or {}).get("entry"),
                    "firing": held["firing"] if held else vote.firing,
                }
        # A line of an earlier visit keeps its target, though no rule asks for it on this record alone.
        kept = {key: one for key, one in asked.items() if key not in now and not self._withdrawn(one)}
        made = [self._target(check, place, one, agreed) for (check, place), one in {**now, **kept}.items()]
        return sorted(
            made, key=lambda one: (one["safety"], one["gate"], one["place"] != HOUSE_KEY, one["check"], one["place"])
        )

    def _withdrawn(self, one: Mapping[str, Any]) -> bool:
        """Whether the rule that set a target speaks of its place on this record, and does not ask for it any more."""
        rule, _, subject = one["firing"].rpartition("@")
        return any(walked.rule == rule and walked.subject == subject for walked in self._job.run.walked) and any(
            time == KIND for _, time in checks_read(self._job.run.policy.rules[rule])
        )

    def _target(
        self, name: str, place: str, one: Mapping[str, Any], agreed: Mapping[tuple[str, str], str]
    ) -> dict[str, Any]:
        check = self._job.run.policy.checks[name]
        verdict = self._job.run.verdicts.get((name, KIND, place))
        entry = one["entry"]
        limit = limit_of(self._job, verdict, entry)
        status = status_of(verdict, limit is not None, one["gate"], (name, place) in agreed)
        rule = self._job.run.policy.rules[one["firing"].rpartition("@")[0]]
        out: dict[str, Any] = {
            "check": name,
            "title": self._job.words.title("check", name, check.title),
            "place": place,
            "name": self._job.name(place),
            "gate": one["gate"],
            "safety": rule.authority == "safety",
            "must_be": check.must_be,
            "limit": limit,
            "before": _side(self._stored.get(f"{name}@{place}/found")),
            "predicted": _side(self._stored.get(f"{name}@{place}/predicted")),
            "after": _number(verdict.reading) if verdict is not None and verdict.reading is not None else None,
            "status": status,
            "comes_to": COMES_TO[status],
            "said": self._job.say(f"accept-{status}") if status != "met" else "",
            "agree": agreed[name, place] if status == "agree" else "",
            "missing": list(self._missing(check, entry)) if status in ("not-read", "gate-not-read") else [],
            "reads": list(entry["reads"]) if entry else [],
            "rule": rule.name,
            "firing": one["firing"],
        }
        if verdict is not None and verdict.margin is not None and verdict.reading is not None:
            out["margin"] = number(verdict.margin, verdict.reading.unit)
            out["band"] = number(verdict.band, verdict.reading.unit)
        return out

    def _missing(self, check: Check, entry: Mapping[str, Any] | None) -> Iterator[str]:
        """Readings of a target that were not taken, or not in a way that its check needs."""
        for one in entry["reads"] if entry else ():
            taken = reading(self._job.record, one["key"], one["field"], KIND)
            if taken is None or (check.needs and taken.state not in check.needs):
                yield str(one["title"])

    def _agreed(self) -> dict[tuple[str, str], str]:
        """Targets, by check and place, that a fired rule has agreed in writing instead of corrected; with what is agreed."""
        out = {}
        for walked in self._job.run.walked:
            rule = self._job.run.policy.rules[walked.rule]
            if walked.fired and any(then.what == "finding" and then.name == AGREED for then in rule.then):
                agree = self._job.words.say((f"{rule.name}.agree", rule.name), walked.subject, rule.title)
                for check, time in checks_read(rule):
                    if time == KIND:
                        out[check, walked.subject] = agree
        return out


def _side(verdict: Mapping[str, Any] | None) -> dict[str, Any] | None:
    if verdict is None or "reading" not in verdict:
        return None
    one = verdict["reading"]
    keys = ("value", "unit", "plus_minus", "state")
    return {**{key: one[key] for key in keys if key in one}, "word": verdict["word"]}


def _number(one: Number) -> dict[str, Any]:
    out: dict[str, Any] = {"value": number(one.value, one.unit), "unit": one.unit, "state": one.state}
    return {**out, **({"plus_minus": number(one.plus_minus, one.unit)} if one.plus_minus else {})}
