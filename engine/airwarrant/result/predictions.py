"""What was predicted, which targets it misses, and what test-out is held to."""

from collections.abc import Iterable, Mapping
from typing import Any

from airwarrant.house.calibration import Calibration
from airwarrant.house.predict import REGISTERS, STATIC, Prediction
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.lookup import reading
from airwarrant.policy.model import Check
from airwarrant.result.moved import moved
from airwarrant.result.texts import Texts
from airwarrant.result.to_read import to_read
from airwarrant.rules.clauses import atoms_read, checks_read
from airwarrant.rules.numbers import Number
from airwarrant.run import Alternative, Change, Effect, Option, Ranges, Run, Step
from airwarrant.units import UNITS, number

_MISSING = "no prediction: statics, airflow or the new blower's table are missing"
_INPUTS = {
    "new-blower-table": "The new blower's own table",
    "new-duct": "Loss of new duct",
    "new-efficiency": "Efficiency of the new blower",
    "house.blower_table": "The old blower's table",
    "return-leak.place": "Where the return side leaks",
    "supply-leak.place": "Where the supply side leaks",
}
_PASCAL, _FLOW, _INCHES = "Pa", "cfm", "in. w.c."


def predictions_json(run: Run) -> dict[str, Any]:
    """Return everything predicted: as found, like for like, the scope, its steps, scopes one line smaller and larger."""
    found = {
        check: number(v.reading.value, v.reading.unit)
        for (check, time, subject), v in sorted(run.verdicts.items())
        if time == "found" and subject == "house" and v.reading is not None
    }
    chosen = next((o for o in run.options if o.setting == run.chosen), None)
    base = next((o for o in run.like_for_like if o.setting == run.chosen), None)
    return {
        "method": chosen.prediction.method if chosen else _MISSING,
        "as_found": found,
        "calibration": _calibration(run.calibration) if run.calibration else None,
        "network_as_found": _readings(run.as_found, {}) if run.as_found else None,
        "like_for_like": [_option(o) for o in run.like_for_like],
        "scope": _option(chosen) if chosen else None,
        "moved": moved(chosen.prediction, base.prediction) if chosen and base else [],
        "options": [_option(o) for o in run.options],
        "steps": _steps(run, base.prediction if base else None),
        "alternatives": [_alternative(a) for a in run.alternatives],
        "rests_on": _rests_on(run, chosen.prediction) if chosen else {},
        "targets": _targets(run),
        "compared": _compared(run, chosen.prediction) if chosen else [],
    }


def _compared(run: Run, prediction: Prediction) -> list[dict[str, Any]]:
    """The house's readings that rules hold against the prediction at test-out, of those that were read before."""
    names = {
        check
        for rule in run.policy.rules.values()
        for check, time in checks_read(rule)
        if time == "test-out" and run.policy.checks[check].each == HOUSE_KEY
    }
    asked: dict[tuple[str, str], dict[str, Any]] = {}
    for name in sorted(names):
        for one in to_read(run.policy, run.record, run.policy.checks[name], HOUSE_KEY):
            asked.setdefault((one["key"], one["field"]), one)
    return [
        one
        for key, one in sorted(asked.items())
        if key in prediction.readings and reading(run.record, *key, "found") is not None
    ]


def effect_json(effect: Effect | None) -> dict[str, Any] | None:
    """Return what a line changes by itself and what the scope loses without it, each reading with its ± and range."""
    if effect is None:
        return None
    return {"alone": _change(effect.alone), "without": _change(effect.without)}


def _change(change: Change) -> dict[str, Any]:
    out = {}
    for name, one in change.items():
        out[name] = {
            "value": number(one.value, one.unit),
            "plus_minus": number(one.plus_minus, one.unit),
            "unit": one.unit,
        }
        if one.low is not None and one.high is not None:
            out[name] |= {"low": number(one.low, one.unit), "high": number(one.high, one.unit)}
    return out


def _option(option: Option) -> dict[str, Any]:
    prediction = option.prediction
    return {
        "setting": option.setting,
        "valid": prediction.valid,
        "notes": list(prediction.notes),
        "assumed": list(prediction.assumed),
        "misses": list(option.misses),
        "close": list(option.close),
        "chances": {
            v.id: round(v.probability or 0.0, 3)
            for v in option.verdicts.values()
            if v.id in (*option.misses, *option.close)
        },
        "readings": _readings(prediction, option.ranges),
    }


def _readings(prediction: Prediction, ranges: Ranges) -> dict[str, dict[str, Any]]:
    readings: dict[str, dict[str, Any]] = {}
    for (key, name), expected in sorted(prediction.readings.items()):
        unit = UNITS[expected.unit]
        one = {
            "value": number(expected.value, expected.unit),
            "plus_minus": number(expected.plus_minus or 0.0, expected.unit),
            "unit": expected.unit,
        }
        span = ranges.get((key, name))
        if span is not None:
            one["low"] = number((span.low - unit.offset) / unit.factor, expected.unit)
            one["high"] = number((span.high - unit.offset) / unit.factor, expected.unit)
        readings.setdefault(key, {})[name] = one
    return readings


def _steps(run: Run, base: Prediction | None) -> list[dict[str, Any]]:
    before = [base, *(step.prediction for step in run.steps)]
    return [_step(step, before[i], first=i == 0) for i, step in enumerate(run.steps)]


def _step(step: Step, before: Prediction | None, *, first: bool) -> dict[str, Any]:
    """The scope as far as one line: what it moved, and the registers' air it adds to what was before it."""
    said = moved(step.prediction, before) if before and not first else []
    after, earlier = step.prediction.readings.get(REGISTERS), before.readings.get(REGISTERS) if before else None
    gain = number(after.value - earlier.value, after.unit) if after and earlier else None
    readings = _readings(step.prediction, {}).get("house", {})
    return {"line": step.line, "moved": said, "adds": gain, "readings": readings}


def _alternative(one: Alternative) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "line": one.line,
        "lines": list(one.lines),
        "setting": one.option.setting,
        "misses": list(one.option.misses),
        "close": list(one.option.close),
        "readings": _readings(one.option.prediction, {}).get("house", {}),
    }


def _rests_on(run: Run, prediction: Prediction) -> dict[str, Any]:
    """The inputs that the ± of a predicted reading comes from, the largest share first: of all that checks read, and the registers'."""
    keys = {REGISTERS, STATIC}
    for (_, time, _), verdict in run.verdicts.items():
        if time == "predicted" and verdict.reading is not None:
            keys |= {
                (one.subject, one.name) for one in verdict.reading.leaves() if one.state in ("predicted", "doubtful")
            }
    out = {}
    for key in sorted(keys):
        ranked = [_input(run, name, share) for name, share in prediction.ranking(key, 3)]
        if ranked:
            out[".".join(key)] = ranked
    return out


def _input(run: Run, name: str, share: float) -> dict[str, Any]:
    """One input: its share of the variance, what it is, and where the record has it."""
    key, _, field = name.partition(".")
    known = key in run.record.items and field in KINDS[run.record.items[key].kind].fields
    read = reading(run.record, key, field, "found") if known else None
    path = {"path": read.path} if read is not None else {}
    return {"input": name, "title": _title(run, name), "share": round(share, 2), **path}


def _title(run: Run, name: str) -> str:
    """What an input is: a policy value, a reading of the house or of an item, a share of a drop that nobody read."""
    if name in run.policy.parameters:
        return run.policy.parameters[name].title
    key, _, field = name.partition(".")
    item = run.record.items.get(key)
    if item is None:
        return _INPUTS.get(name, name.replace("-", " ").replace(".", ", "))
    known = KINDS[item.kind].fields.get(field)
    title = known.title if known else _INPUTS.get(name, field)
    return title if key == HOUSE_KEY else f"{title} of {key}"


def _targets(run: Run) -> dict[str, Any]:
    return {
        room: {
            "flow": number(target.flow.value, target.flow.unit),
            "unit": target.flow.unit,
            "share": round(target.share, 4),
            "method": target.method,
            "confidence": target.confidence,
            "parts": {name: round(value, 1) for name, value in sorted(target.parts.items())},
        }
        for room, target in sorted(run.targets.items())
    }


def _calibration(one: Calibration) -> dict[str, Any]:
    """What the readings come to together, in the units of the trade."""
    return {
        **{
            name: {"value": _in(pair[0], _FLOW), "plus_minus": _in(2.0 * pair[1], _FLOW), "unit": _FLOW}
            for name, pair in (
                ("airflow", one.flow),
                ("return_leak", one.return_leak),
                ("supply_leak", one.supply_leak),
            )
        },
        "residuals": {name: round(value, 2) for name, value in sorted(one.residuals.items())},
        "chance": None if one.chi_square_p is None else round(one.chi_square_p, 3),
        "conflict": list(one.conflict) if one.conflict else [],
        "leaks": {
            leak: {"pressure": number(pressure, _PASCAL), "unit": _PASCAL, "read": read}
            for leak, (pressure, read) in sorted(one.places.items())
        },
        "drops": [
            {
                "piece": drop.piece,
                "place": drop.item,
                "measured": _in(drop.measured, _INCHES),
                "clean": _in(drop.clean, _INCHES),
                "unit": _INCHES,
                "ratio": round(drop.ratio, 2),
            }
            for drop in one.drops
        ],
        "returns_readings": {"static": _in(one.off_static, _INCHES), "flow_share": round(one.off_flow, 5)},
        "assumed": list(one.assumed),
        "notes": list(one.notes),
    }


def _in(value: float, unit: str) -> float:
    return number(value / UNITS[unit].factor, unit)


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


def acceptance_json(run: Run, words: Texts) -> list[dict[str, Any]]:
    """Return what test-out is held to, with what was found and what is expected."""
    out = []
    for vote in run.votes:
        if vote.then.what != "target":
            continue
        key = vote.place
        verdict = run.verdicts.get((vote.then.name, "predicted", key)) or run.verdicts.get(
            (vote.then.name, "found", key)
        )
        check = run.policy.checks[vote.then.name]
        limit = (verdict.limit if verdict else None) or _fixed_limit(run, check)
        out.append(
            {
                "check": vote.then.name,
                "title": words.title("check", check.name, check.title),
                "place": key,
                "must_be": check.must_be,
                "gate": vote.then.gate,
                "limit": number(limit.value, limit.unit) if limit else None,
                "unit": limit.unit if limit else "",
                "rule": vote.rule,
                "firing": vote.firing,
                "reads": to_read(run.policy, run.record, check, key),
            }
        )
    return out


def kept_targets(
    run: Run, earlier: Mapping[str, Any] | None, lines: Iterable[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Targets of an earlier visit's result that go with its lines: a line that stays on the bill stays to be proved."""
    if earlier is None:
        return []
    tasks = {line["task"] for line in lines if line["state"] == "earlier"}
    asked = {(vote.then.name, vote.place) for vote in run.votes if vote.then.what == "target"}
    return [
        dict(entry)
        for entry in earlier["acceptance"]
        if (entry["check"], entry["place"]) not in asked
        and entry["rule"] in run.policy.rules
        and any(("line", task) == read.name for read in atoms_read(run.policy.rules[entry["rule"]]) for task in tasks)
    ]


def _fixed_limit(run: Run, check: Check) -> Number | None:
    """The limit of a check that nobody judged yet, where it is one policy value."""
    first = check.limits[0]
    parameter = run.policy.parameters.get(first.of.name)
    if len(check.limits) > 1 or first.less or first.more or check.times or parameter is None:
        return None
    return Number("parameter", parameter.name, float(parameter.value), parameter.unit)
