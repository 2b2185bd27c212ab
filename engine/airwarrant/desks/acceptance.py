"""The acceptance of a test-out as plain data: before, predicted and after side by side, the answer and what it rests on."""

from collections.abc import Mapping
from typing import Any

from airwarrant.desks.acceptance_answer import answer_of
from airwarrant.desks.acceptance_findings import causes_of, cautions_of, conditions_of, remarks_of
from airwarrant.desks.acceptance_readings import predicted_option, readings_of
from airwarrant.desks.acceptance_targets import targets_of
from airwarrant.desks.tested_out import TestedOut
from airwarrant.job.test_out import KIND
from airwarrant.result.serial import digest
from airwarrant.run import Run

FORMAT = "airwarrant/acceptance/1"


def acceptance(result: Mapping[str, Any], run: Run) -> dict[str, Any]:
    """Return the acceptance document.

    Parameters
    ----------
    result : mapping
        The result that was sold and built from: its predictions and its chosen fan setting are what the test-out is held against.
    run : Run
        The evaluation of its record with the visits of the test-out added.
    """
    job = TestedOut(result, run)
    option = predicted_option(job)
    targets = targets_of(job)
    readings = readings_of(job, option, targets)
    conditions = conditions_of(job)
    stops = [job.say("accept-stop")] if any(vote.then.what == "stop" for vote in run.votes) else []
    answer, why = answer_of(targets, conditions, stops)
    body = {
        "format": FORMAT,
        "job_id": job.record.id,
        "demo": job.record.demo or bool(result["demo"]),
        "market": dict(result["market"]),
        "dates": {**result["dates"], "test_out": str(job.visit.date)},
        "digests": {
            "result": digest(dict(result)),
            "job": result["digests"]["job"],
            "policy": result["digests"]["policy"],
            "with_test_out": job.record.digest,
        },
        "answer": {"answer": answer, "said": job.say(f"accept-{answer}"), "why": why},
        "setting": {
            "chosen": job.chosen,
            "read": job.visit.fan_setting,
            "predicted": option["setting"] if option else "",
        },
        "conditions": conditions,
        "targets": targets,
        "readings": readings,
        "causes": list(causes_of(job)),
        "remarks": list(remarks_of(job)),
        "cautions": list(cautions_of(job)),
        "lines": [
            {"id": line["id"], "title": line["title"], "place": line["place"], "name": job.name(line["place"])}
            for line in result["lines"]
            if line["state"] in ("scoped", "earlier")
        ],
        "record": {"items": {key: {"name": item.name} for key, item in job.record.items.items()}},
        "verdicts": [v.as_json() for _, v in sorted(run.verdicts.items()) if v.time == KIND],
    }
    before = result.get("languages", {})
    body["languages"] = {
        language: dict(sorted({**before.get(language, {}), **known}.items()))
        for language, known in job.words.languages().items()
    }
    return body
