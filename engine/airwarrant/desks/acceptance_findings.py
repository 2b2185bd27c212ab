"""What a test-out shows besides its targets: how the readings were taken, likely causes of a miss, remarks and cautions."""

from collections.abc import Iterator
from typing import Any

from airwarrant.desks.acceptance_targets import AGREED
from airwarrant.desks.tested_out import TestedOut
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.lookup import found_visits
from airwarrant.job.test_out import KIND
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.walk import Walked

#: Words of a visit that must be written for its readings to be compared, and those that must be as they were found.
_WRITTEN = ("filter_state", "same_ports")
_AS_FOUND = ("doors_state", "registers_state", "dampers_state")


def conditions_of(job: TestedOut) -> list[dict[str, Any]]:
    """How the readings were taken, each with what it was before and whether it lets them be compared."""
    read, chosen = job.visit.fan_setting, job.chosen
    fine = not chosen or read == chosen
    status = "" if read and fine else "accept-other-setting" if read else "accept-not-said"
    out = [_condition(job, "fan_setting", "Fan setting", chosen, read, status)]
    found = found_visits(job.record)
    fields = KINDS[HOUSE_KEY].fields
    for name in (*_WRITTEN, *_AS_FOUND):
        now = job.visit.words.get(name, "")
        before = next((visit.words[name] for visit in found if name in visit.words), "")
        status = ""
        if name in _WRITTEN:
            status = "" if now else "accept-not-said"
        elif before and now != before:
            status = "accept-other-condition" if now else "accept-not-said"
        if now or before or name in _WRITTEN:
            out.append(_condition(job, name, fields[name].title, before, now, status))
    for walked in _fired(job):
        rule = job.run.policy.rules[walked.rule]
        if rule.authority == "data":
            said = job.words.say((rule.name,), walked.subject, rule.title)
            out.append({"name": rule.name, "title": rule.title, "before": "", "after": "", "fine": False, "said": said})
    return out


def _condition(job: TestedOut, name: str, title: str, before: str, after: str, status: str) -> dict[str, Any]:
    said = job.say(status) if status else ""
    return {"name": name, "title": title, "before": before, "after": after, "fine": not status, "said": said}


def _fired(job: TestedOut) -> Iterator[Walked]:
    """Rules of acceptance that fired and have something to say."""
    for walked in job.run.walked:
        rule = job.run.policy.rules[walked.rule]
        if walked.fired and rule.stage == "accept" and f"{rule.name}.correct" in job.run.policy.said:
            yield walked


def causes_of(job: TestedOut) -> Iterator[dict[str, Any]]:
    """Where a reading leaves the prediction, each with what to look for and what to correct."""
    for walked in _fired(job):
        rule = job.run.policy.rules[walked.rule]
        if rule.authority == "data":
            continue  # says how the readings were taken, not what is wrong with the work
        read = sorted(check for check, time in checks_read(rule) if time == KIND)
        ids = (rule.name, *(then.name for then in rule.then if then.what == "finding"))
        yield {
            "rule": rule.name,
            "place": walked.subject,
            "name": job.name(walked.subject),
            "title": rule.title,
            "said": job.words.say(ids, walked.subject, rule.title),
            "correct": job.words.say((f"{rule.name}.correct",), walked.subject),
            "verdicts": [f"{check}@{walked.subject}/{KIND}" for check in read],
            "firing": f"{walked.rule}@{walked.subject}",
        }


def remarks_of(job: TestedOut) -> Iterator[dict[str, Any]]:
    """What else rules found at test-out and say, where nothing is to be corrected."""
    said_of = job.run.policy.said
    for walked in job.run.walked:
        rule = job.run.policy.rules[walked.rule]
        findings = [then.name for then in rule.then if then.what == "finding"]
        if not walked.fired or rule.stage != "accept" or not findings or AGREED in findings:
            continue
        if f"{rule.name}.correct" in said_of or not any(time == KIND for _, time in checks_read(rule)):
            continue
        if any(then.what == "caution" for then in rule.then):
            continue  # said with its caution
        said = job.words.say((rule.name, *findings), walked.subject, rule.title)
        yield {
            "rule": rule.name,
            "place": walked.subject,
            "name": job.name(walked.subject),
            "said": said,
            "firing": f"{walked.rule}@{walked.subject}",
        }


def cautions_of(job: TestedOut) -> Iterator[dict[str, Any]]:
    """Cautions that rules of acceptance give."""
    seen = set()
    for vote in job.run.votes:
        rule = job.run.policy.rules[vote.rule]
        if vote.then.what == "caution" and rule.stage == "accept" and vote.then.name not in seen:
            seen.add(vote.then.name)
            said = job.words.say((vote.then.name,), vote.subject, rule.title)
            yield {"name": vote.then.name, "said": said, "firing": vote.firing}
