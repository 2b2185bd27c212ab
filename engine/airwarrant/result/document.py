"""The result document: one run as plain data, every number at its unit's fixed decimals, in a stable order."""

from collections.abc import Iterable, Mapping
from typing import Any

from airwarrant.job.dictionary import KINDS
from airwarrant.job.lookup import positions
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.policy.unfilled import unfilled
from airwarrant.result.air_path import air_path_json
from airwarrant.result.changes import changes
from airwarrant.result.crew import crew_json
from airwarrant.result.declined import Chains, declined_json
from airwarrant.result.directions import clock, directions
from airwarrant.result.offers import offers_json
from airwarrant.result.predictions import acceptance_json, effect_json, kept_targets, misses_json, predictions_json
from airwarrant.result.priced import price_json, prices_read, totals_json
from airwarrant.result.record_told import record_json
from airwarrant.result.serial import FORMAT
from airwarrant.result.texts import Texts
from airwarrant.result.trace import PolicyTexts, trace_json
from airwarrant.result.unconfirmed import unconfirmed_json
from airwarrant.run import Decisive, Reread, Run
from airwarrant.scope.order import after_in_scope, line_order
from airwarrant.scope.settle import Hold, Line, hold_of
from airwarrant.scope.votes import Vote
from airwarrant.sizing.sized import Sized
from airwarrant.units import number


def document(run: Run, earlier: Mapping[str, Any] | None = None, texts: PolicyTexts | None = None) -> dict[str, Any]:
    """Return the result document of a run.

    Parameters
    ----------
    run : Run
    earlier : mapping or None
        The result before the newest visit. A line it scoped and nothing asks for any more stays, with state ``earlier``:
        what a line has cured must not take it off the bill. The result says what changed: the change order.
    texts : PolicyTexts or None
        Texts of the policy, where many results are written under one policy.
    """
    texts = texts or PolicyTexts(run.policy)
    words = Texts(run)
    chains = Chains(run)
    lines = _with_earlier(texts.order, _lines(run, words, chains, texts.order), earlier)
    declined = _declined(run, words, chains, texts, {line["id"] for line in lines})
    verdicts = [v.as_json() for _, v in sorted(run.verdicts.items())]
    retests = _retests(run, words)
    holds = _holds(run, words)
    stops = _say_votes(run, words, "stop")
    cautions = [*_say_votes(run, words, "caution"), *unconfirmed_json(run, words, lines, declined)]
    names = {name for v in run.verdicts.values() for name in v.reads}
    names |= {name for sized in run.sizes.values() for name in sized.reads}
    names |= set(prices_read(run))
    predictions = predictions_json(run)
    totals = totals_json(run, lines, words)
    names |= {
        one["input"] for several in predictions["rests_on"].values() for one in several
    } & run.policy.parameters.keys()
    body = {
        "format": FORMAT,
        "job_id": run.record.id,
        "demo": run.record.demo,
        "market": {
            "name": run.policy.market.name,
            "title": run.policy.market.title,
            "currency": run.policy.market.currency,
            **({"draft": True} if unfilled(run.policy) else {}),
        },
        "dates": _dates(run.record, run.policy),
        "digests": {"job": run.record.digest, "policy": run.policy.digest},
        "sellable": _sellable(run, stops, retests, holds),
        "supersedes": changes(earlier, lines, run.record.visits[-1].kind) if earlier else None,
        "stops": stops,
        "holds": holds,
        "retests": retests,
        "findings": _findings(run, words),
        "lines": lines,
        "declined": declined,
        "cautions": cautions,
        "contradictions": [
            {"code": "contradiction", "line": c.line, "rules": list(c.rules), "authority": c.authority}
            for c in run.settled.contradictions
        ],
        "choices": [{"line": c.line, "decision": c.decision} for c in run.record.choices],
        "overrides": [
            {
                "line": o.line,
                "decision": o.decision,
                "reason": o.reason,
                "by": o.by,
                "taken": o.line in run.settled.lines and o.line not in run.settled.overruled_left_out,
            }
            for o in run.record.overrides
        ],
        "predictions": predictions,
        "misses": misses_json(run),
        "settled": run.ended,
        "acceptance": [*acceptance_json(run, words), *kept_targets(run, earlier, lines)],
        "totals": totals,
        "offers": offers_json(predictions, totals, lines),
        "record": record_json(run.record),
        "air_path": air_path_json(run),
        "clock": clock(lines),
        "crew": crew_json(run, words, lines, cautions),
        "texts": words.of_papers(),
        "verdicts": verdicts,
        "trace": trace_json(run, texts, names),
    }
    # Lines of an earlier visit keep the words they were said in.
    before = earlier.get("languages", {}) if earlier else {}
    body["languages"] = {
        language: dict(sorted({**before.get(language, {}), **known}.items()))
        for language, known in words.languages().items()
    }
    body["program"] = {
        "name": "airwarrant",
        "version": texts.version,
        "verified": run.verified,
        "record": {"file": run.record.file, "places": dict(sorted(positions(run.record).items()))},
    }
    return body


def _dates(record: JobRecord, policy: Policy) -> dict[str, Any]:
    survey = record.dates.get("survey")
    out: dict[str, Any] = {}
    for name in ("survey", "proposal", "permit"):
        given = record.dates.get(name)
        out[name] = str(given or survey)
        if given is None:
            out.setdefault("fell_back_to_survey", []).append(name)
    out["layers"] = [{"layer": layer, "effective": date} for layer, date in policy.layers]
    return out


def _lines(run: Run, words: Texts, chains: Chains, order: Mapping[str, int]) -> list[dict[str, Any]]:
    standing = [line for line in run.settled.lines.values() if line.state in ("scoped", "held")]
    standing.sort(key=lambda line: line_order(line, order))
    present = {line.task for line in standing}
    return [_line(run, line, i + 1, present, words, chains) for i, line in enumerate(standing)]


def _with_earlier(
    order: Mapping[str, int], lines: list[dict[str, Any]], earlier: Mapping[str, Any] | None
) -> list[dict[str, Any]]:
    """Put the lines that only the earlier result scoped into their place in the order of work."""
    if earlier is None:
        return lines
    there = {line["id"] for line in lines}
    kept = [
        {**line, "state": "earlier", "effect": None, "held_by": []}
        for line in earlier["lines"]
        if line["id"] not in there and line["state"] in ("scoped", "earlier") and line["task"] in order
    ]
    together = sorted([*lines, *kept], key=lambda line: (order[line["task"]], line["task"], line["place"]))
    return [{**line, "order": rank} for rank, line in enumerate(together, 1)]


def _line(run: Run, line: Line, rank: int, present: set[str], words: Texts, chains: Chains) -> dict[str, Any]:
    task = run.policy.tasks[line.task]
    asked = _asked(run, line)
    sized = run.sizes.get(line.id)
    sizes = _sizes(sized, words, line.task, line.place)
    setting = run.chosen if task.changes == "fan-setting" else ""
    return {
        "id": line.id,
        "task": line.task,
        "title": words.title("task", line.task, task.title),
        "place": line.place,
        "tier": line.tier,
        "state": line.state,
        "size": setting or (sizes[0]["text"] if sizes else ""),
        "sizes": sizes,
        "quantity": sized.count if sized else 1,
        "unit": "each",
        "order": rank,
        "after": after_in_scope(line.task, run.policy.tasks, present),
        "unit_off": task.unit_off,
        "price": price_json(run, line.id, words),
        "held_by": [_hold(h, words) for h in _once(line.held_by)],
        "directions": directions(words, line.task, line.place),
        "lifted_by": [{"firing": v.firing, "hold": v.then.name, "why": v.then.text} for v in line.lifted],
        "effect": effect_json(run.effects.get(line.id)),
        # A rule that asks for a line for reasons of its own, such as a wish, says it in its own words.
        "said": words.say((asked.rule, line.task), line.place, task.title),
        "rule": asked.rule,
        "firing": asked.firing,
        "round": asked.round,
        "lost": [
            {"firing": v.firing, "says": v.then.what, "tier": v.then.tier, "authority": v.authority} for v in line.lost
        ],
        "readings": chains.behind(asked.rule, asked.subject),
    }


def _sizes(sized: Sized | None, words: Texts, task: str, place: str) -> list[dict[str, Any]]:
    """Every size of a line, said as number and unit, or in policy's words where there is none or nothing to it."""
    out: list[dict[str, Any]] = []
    for one in sized.sizes if sized else ():
        said = (
            one.size.unknown if one.value is None else one.size.zero if number(one.value, one.size.unit) == 0.0 else ""
        )
        words.title("size", f"{task}.{len(out) + 1}", one.size.title)
        out.append(one.as_json(words.say((said,), place, one.text) if said else one.text))
    return out


def _declined(run: Run, words: Texts, chains: Chains, texts: PolicyTexts, there: set[str]) -> list[dict[str, Any]]:
    """What is left out and stands in no line, each said in the words of the rule that rules it out."""
    entries = [entry for entry in declined_json(run, chains, texts) if entry["line"] not in there]
    for entry in entries:
        own = (entry["rule"],) if entry["how"] == "declined" else ()
        entry["said"] = words.say(own, entry["place"], entry["because"])
        words.title("task", entry["task"], run.policy.tasks[entry["task"]].title)
    return entries


def _asked(run: Run, line: Line) -> Vote:
    """The line vote a standing line rests on: the winner, or for a held line the best that asked for it."""
    if line.won.then.what == "line":
        return line.won
    return next(v for v in line.lost if v.then.what == "line" and v.then.tier == line.tier)


def _hold(hold: Hold, words: Texts) -> dict[str, Any]:
    return {
        "name": hold.name,
        "until": words.title("until", hold.rule, hold.until),
        # A line that another has to be in the scope for is held by `needs:<task>`, which is no name of wording.
        "said": words.say((hold.name.replace(":", "-"),), otherwise=hold.until),
        "rule": hold.rule,
        "subject": hold.subject,
        "firing": f"{hold.rule}@{hold.subject}",
        "when": hold.when,
    }


def _once(holds: Iterable[Hold]) -> list[Hold]:
    """Holds once each: a rule that holds a line and its whole group holds it once."""
    return list({(hold.name, hold.rule, hold.subject): hold for hold in holds}.values())


def _holds(run: Run, words: Texts) -> list[dict[str, Any]]:
    """Each hold once, with what it speaks of and the lines of this scope it keeps back: none, where nothing asks for one."""
    held: dict[tuple[str, str, str], dict[str, Any]] = {}
    lines = [line for line in sorted(run.settled.lines.values(), key=lambda one: one.id) if line.state == "held"]
    for line in lines:
        for hold in _once(line.held_by):
            entry = held.setdefault((hold.name, hold.rule, hold.subject), {**_hold(hold, words), "of": "", "lines": []})
            entry["lines"].append(line.id)
    for vote in run.votes:
        if vote.then.what == "hold":
            hold = hold_of(vote)
            entry = held.setdefault((hold.name, hold.rule, hold.subject), {**_hold(hold, words), "of": "", "lines": []})
            entry["of"] = ", ".join(filter(None, (entry["of"], vote.then.name)))
            if vote.then.name == "proposal" and "proposal" not in entry["lines"]:
                entry["lines"].append("proposal")
    return [entry for _, entry in sorted(held.items())]


def _retests(run: Run, words: Texts) -> list[dict[str, Any]]:
    when = str(run.policy.parameters["doubt_when"].value)
    out = [_reread(one, words) for one in run.rereads]
    out += [_decisive(d, run, words, when) for d in run.decisive]
    for vote in run.votes:
        if vote.then.what == "retest":
            out.append(
                {
                    "title": _reading_title(words, vote.then.name, _field_title(vote)),
                    "reading": vote.then.name,
                    "subject": vote.subject,
                    "how": words.title("how", vote.rule, vote.then.text),
                    "when": vote.then.when or when,
                    "rule": vote.rule,
                    "firing": vote.firing,
                    "lines": [],
                }
            )
    # Two rules may ask for one reading at one time: it is read once, and the first that asked stands.
    once: dict[tuple[str, str, str], dict[str, Any]] = {}
    for retest in out:
        once.setdefault((retest["reading"], retest["subject"], retest["when"]), retest)
    return list(once.values())


def _reread(one: Reread, words: Texts) -> dict[str, Any]:
    """What the air network asks for: the offer rests on it, so it is read before the offer."""
    field = next((f for kind in KINDS.values() for f in kind.fields.values() if f.name == one.reading), None)
    return {
        "title": _reading_title(words, one.reading, field.title if field else one.reading),
        "reading": one.reading,
        "subject": one.subject,
        "how": words.say((one.why,), otherwise=one.why),
        "when": "before-sale",
        "why": one.why,
        "verdicts": list(one.verdicts),
        "lines": [],
    }


def _reading_title(words: Texts, name: str, title: str) -> str:
    return words.title("reading", name.replace("_", "-"), title)


def _field_title(vote: Vote) -> str:
    field = KINDS[vote.kind].fields.get(vote.then.name) or KINDS["house"].fields.get(vote.then.name)
    return field.title if field else vote.then.name


def _decisive(decisive: Decisive, run: Run, words: Texts, when: str) -> dict[str, Any]:
    verdict = decisive.verdict
    check = run.policy.checks[verdict.check]
    predicted = verdict.time == "predicted"
    return {
        "title": words.title("check", check.name, check.title),
        "reading": check.reading.name,
        "subject": verdict.subject,
        "how": words.say(("doubt",), otherwise=check.title),
        # What a prediction leaves open can only be settled by reading it at the end.
        "when": "at-test-out" if predicted else (check.retest_when or when),
        "verdict": verdict.id,
        "lines": list(decisive.lines),
    }


def _say_votes(run: Run, words: Texts, what: str) -> list[dict[str, Any]]:
    """Stops or cautions, each said once with all that voted for it."""
    said: dict[str, dict[str, Any]] = {}
    for vote in run.votes:
        if vote.then.what == what:
            title = run.policy.rules[vote.rule].title
            entry = said.setdefault(
                vote.then.name,
                {
                    "name": vote.then.name,
                    "said": words.say((vote.then.name,), vote.subject, title),
                    "for": words.readers((vote.then.name,)),
                    "authority": vote.authority,
                    "subjects": [],
                    "firings": [],
                },
            )
            entry["subjects"] += [vote.subject] if vote.subject not in entry["subjects"] else []
            entry["firings"].append(vote.firing)
    return list(said.values())


def _findings(run: Run, words: Texts) -> list[dict[str, Any]]:
    by: dict[tuple[str, str], list[str]] = {}
    for walked in run.walked:
        if walked.fired:
            rule = run.policy.rules[walked.rule]
            for then in rule.then:
                if then.what == "finding":
                    place = run.subjects[walked.subject].links.get(then.at, "house") if then.at else walked.subject
                    by.setdefault((then.name, place), []).append(f"{walked.rule}@{walked.subject}")
    return [
        {
            "finding": name,
            "at": place,
            "title": (title := run.policy.rules[firings[0].rpartition("@")[0]].title),
            "said": words.say((ids := (*(firing.rpartition("@")[0] for firing in firings), name)), place, title),
            "for": words.readers(ids),
            "firings": firings,
        }
        for (name, place), firings in sorted(by.items())
    ]


def _sellable(
    run: Run, stops: list[dict[str, Any]], retests: list[dict[str, Any]], holds: list[dict[str, Any]]
) -> dict[str, Any]:
    """Whether an offer may leave the house: no on a stop, held on a hold of the proposal or a re-reading before sale."""
    if stops:
        return {"answer": "no", "why": [s["said"] for s in stops]}
    why = [f"the proposal waits until {h['until']}" for h in holds if "proposal" in h["lines"]]
    why += [] if run.stands else [f"the scope has not settled: {run.ended}"]
    why += [f"read again: {r['title']}{_of(r['subject'])}" for r in retests if r["when"] == "before-sale"]
    if why:
        return {"answer": "held", "why": list(dict.fromkeys(why))}
    return {"answer": "yes", "why": []}


def _of(subject: str) -> str:
    return "" if subject == "house" else f" of {subject}"
