"""What was predicted, which targets it misses, and what test-out is held to."""

from typing import Any

from airwarrant.run import Option, Run
from airwarrant.units import number


def predictions_json(run: Run) -> dict[str, Any]:
    found = {
        check: number(v.reading.value, v.reading.unit)
        for (check, time, subject), v in sorted(run.verdicts.items())
        if time == "found" and subject == "house" and v.reading is not None
    }
    chosen = next((o for o in run.options if o.setting == run.chosen), None)
    return {
        "method": chosen.prediction.method
        if chosen
        else "no prediction: statics, airflow or the new blower's table are missing",
        "stand_in": True,
        "as_found": found,
        "like_for_like": [_option(o) for o in run.like_for_like],
        "scope": _option(chosen) if chosen else None,
        "options": [_option(o) for o in run.options],
    }


def _option(option: Option) -> dict[str, Any]:
    readings: dict[str, dict[str, Any]] = {}
    for (key, name), reading in sorted(option.prediction.readings.items()):
        readings.setdefault(key, {})[name] = {
            "value": number(reading.value, reading.unit),
            "plus_minus": number(reading.plus_minus or 0.0, reading.unit),
            "unit": reading.unit,
        }
    return {
        "setting": option.setting,
        "valid": option.prediction.valid,
        "notes": list(option.prediction.notes),
        "misses": list(option.misses),
        "close": list(option.close),
        "readings": readings,
    }


def misses_json(run: Run) -> list[dict[str, Any]]:
    chosen = next((o for o in run.options if o.setting == run.chosen), None)
    out = []
    for verdict_id in chosen.misses if chosen else ():
        verdict = next(v for v in chosen.verdicts.values() if v.id == verdict_id) if chosen else None
        if verdict is None or verdict.reading is None or verdict.limit is None:
            continue
        out.append(
            {
                "target": verdict.check,
                "predicted": verdict.reading.as_json()["value"],
                "limit": number(verdict.limit.value, verdict.reading.unit),
                "unit": verdict.reading.unit,
                "settings_that_meet_it": [o.setting for o in run.options if verdict_id not in o.misses],
            }
        )
    return out


def acceptance_json(run: Run) -> list[dict[str, Any]]:
    out = []
    for vote in run.votes:
        if vote.then.what != "target":
            continue
        key = vote.place
        verdict = run.verdicts.get((vote.then.name, "predicted", key)) or run.verdicts.get(
            (vote.then.name, "found", key)
        )
        check = run.policy.checks[vote.then.name]
        limit = verdict.limit if verdict else None
        out.append(
            {
                "check": vote.then.name,
                "place": key,
                "must_be": check.must_be,
                "gate": vote.then.gate,
                "limit": number(limit.value, limit.unit) if limit else None,
                "unit": limit.unit if limit else "",
                "rule": vote.rule,
                "firing": vote.firing,
            }
        )
    return out
