"""The acceptance of a test-out as plain data: before, predicted and after side by side, the answer and what it rests on."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.lookup import found_visits, reading
from airwarrant.job.readings import Reading
from airwarrant.policy.model import Check
from airwarrant.result.serial import digest
from airwarrant.result.texts import Texts
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.judge import Verdict
from airwarrant.rules.numbers import Number
from airwarrant.rules.walk import Walked
from airwarrant.run import Run
from airwarrant.units import number

FORMAT = "airwarrant/acceptance/1"
PASS, CONDITIONAL, FAIL = "pass", "conditional", "fail"
#: The finding by which a rule says that a target it reads is agreed in writing instead of failed.
AGREED = "agree-in-writing"
_TIME = "test-out"
#: What a target may come to, and what that makes of the answer; a gate that was not read fails.
_COMES_TO = {
    "met": PASS,
    "close": CONDITIONAL,
    "agree": CONDITIONAL,
    "not-read": CONDITIONAL,
    "no-limit": CONDITIONAL,
    "missed": FAIL,
    "gate": FAIL,
    "gate-not-read": FAIL,
}
#: Words of a visit that must be written for its readings to be compared, and those that must be as they were found.
_WRITTEN = ("filter_state", "same_ports")
_AS_FOUND = ("doors_state", "registers_state", "dampers_state")


@dataclass(frozen=True, slots=True)
class _Agreed:
    """What a fired rule puts in place of a correction."""

    rule: str
    said: str
    agree: str


def acceptance(result: Mapping[str, Any], run: Run) -> dict[str, Any]:
    """Return the acceptance document.

    Parameters
    ----------
    result : mapping
        The result that was sold and built from: its predictions and its chosen fan setting are what the test-out is held against.
    run : Run
        The evaluation of its record with the visits of the test-out added.
    """
    return _Acceptance(result, run).document()


class _Acceptance:
    def __init__(self, result: Mapping[str, Any], run: Run) -> None:
        self._result = result
        self._run = run
        self._record = run.record
        self._words = Texts(run)
        self._visit = [visit for visit in run.record.visits if visit.kind == _TIME][-1]
        self._stored = {one["id"]: one for one in result["verdicts"]}
        self._option = self._predicted_option()
        self._plus_minus = dict(_leaves(run.verdicts.values()))

    def document(self) -> dict[str, Any]:
        targets = self._targets()
        readings = self._readings(targets)
        conditions = self._conditions()
        stops = [self._say("accept-stop")] if any(vote.then.what == "stop" for vote in self._run.votes) else []
        answer, why = _answer(targets, conditions, stops)
        body = {
            "format": FORMAT,
            "job_id": self._record.id,
            "demo": self._record.demo or bool(self._result["demo"]),
            "market": dict(self._result["market"]),
            "dates": {**self._result["dates"], "test_out": str(self._visit.date)},
            "digests": {
                "result": digest(dict(self._result)),
                "job": self._result["digests"]["job"],
                "policy": self._result["digests"]["policy"],
                "with_test_out": self._record.digest,
            },
            "answer": {"answer": answer, "said": self._say(f"accept-{answer}"), "why": why},
            "setting": {
                "chosen": self._chosen,
                "read": self._visit.fan_setting,
                "predicted": self._option["setting"] if self._option else "",
            },
            "conditions": conditions,
            "targets": targets,
            "readings": readings,
            "causes": list(self._causes()),
            "remarks": list(self._remarks()),
            "cautions": list(self._cautions()),
            "lines": [
                {"id": line["id"], "title": line["title"], "place": line["place"], "name": self._name(line["place"])}
                for line in self._result["lines"]
                if line["state"] in ("scoped", "earlier")
            ],
            "record": {"items": {key: {"name": item.name} for key, item in self._record.items.items()}},
            "verdicts": [v.as_json() for _, v in sorted(self._run.verdicts.items()) if v.time == _TIME],
        }
        before = self._result.get("languages", {})
        body["languages"] = {
            language: dict(sorted({**before.get(language, {}), **known}.items()))
            for language, known in self._words.languages().items()
        }
        return body

    # ---------------------------------------------------------------- targets

    def _targets(self) -> list[dict[str, Any]]:
        agreed = self._agreed()
        asked: dict[tuple[str, str], dict[str, Any]] = {}
        for entry in self._result["acceptance"]:
            asked[entry["check"], entry["place"]] = {"gate": entry["gate"], "entry": entry, "firing": entry["firing"]}
        now: dict[tuple[str, str], dict[str, Any]] = {}
        for vote in self._run.votes:
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
        return any(walked.rule == rule and walked.subject == subject for walked in self._run.walked) and any(
            time == _TIME for _, time in checks_read(self._run.policy.rules[rule])
        )

    def _target(
        self, name: str, place: str, one: Mapping[str, Any], agreed: Mapping[tuple[str, str], _Agreed]
    ) -> dict[str, Any]:
        check = self._run.policy.checks[name]
        verdict = self._run.verdicts.get((name, _TIME, place))
        entry = one["entry"]
        limit = self._limit(verdict, entry)
        status = _status(verdict, limit is not None, one["gate"], (name, place) in agreed)
        rule = self._run.policy.rules[one["firing"].rpartition("@")[0]]
        out: dict[str, Any] = {
            "check": name,
            "title": self._words.title("check", name, check.title),
            "place": place,
            "name": self._name(place),
            "gate": one["gate"],
            "safety": rule.authority == "safety",
            "must_be": check.must_be,
            "limit": limit,
            "before": self._side(self._stored.get(f"{name}@{place}/found")),
            "predicted": self._side(self._stored.get(f"{name}@{place}/predicted")),
            "after": _number(verdict.reading) if verdict is not None and verdict.reading is not None else None,
            "status": status,
            "comes_to": _COMES_TO[status],
            "said": self._say(f"accept-{status}") if status != "met" else "",
            "agree": agreed[name, place].agree if status == "agree" else "",
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
            taken = reading(self._record, one["key"], one["field"], _TIME)
            if taken is None or (check.needs and taken.state not in check.needs):
                yield str(one["title"])

    def _limit(self, verdict: Verdict | None, entry: Mapping[str, Any] | None) -> dict[str, Any] | None:
        """The limit as it stands at test-out, else as the result had it; with whose it is."""
        if verdict is not None and verdict.limit is not None and verdict.reading is not None:
            limit = verdict.limit
            return {**self._whose(limit), "value": number(limit.value, limit.unit), "unit": limit.unit}
        if entry is None or entry["limit"] is None:
            return None
        return {
            **self._whose_of(self._run.policy.checks[entry["check"]]),
            "value": entry["limit"],
            "unit": entry["unit"],
        }

    def _whose_of(self, check: Check) -> dict[str, Any]:
        """Whose the limit of a check is that nobody judged: by what it refers to first."""
        first = check.limits[0]
        for ref in (first.of, first.less, first.more):
            if ref is not None and ref.form in ("parameter", "table"):
                return self._whose(Number(ref.form, ref.name, 0.0, ref.unit))
        timed = KINDS[HOUSE_KEY].fields.get(first.of.name)
        return {"whose": "label" if timed is not None and timed.timed else "record", "cite": ""}

    def _whose(self, limit: Number) -> dict[str, Any]:
        """Whose a limit is: the maker's label, the law's, or a policy value's by its own source."""
        if limit.form == "reading":
            return {"whose": "label" if limit.state == "record" else "record", "cite": ""}
        policy = self._run.policy
        named = policy.parameters.get(limit.name) or policy.tables.get(limit.name)
        if named is None:
            inner = next((self._whose(part) for part in limit.parts if part.form in ("parameter", "table")), None)
            return inner or {"whose": "record", "cite": ""}
        value = named.keys["value" if limit.name in policy.parameters else "rows"]
        basis = named.basis
        cite = ", ".join(str(basis[key]) for key in ("cite", "edition") if basis.get(key))
        return {"whose": "law" if value.layer.startswith("codes/") else str(basis["kind"]), "cite": cite}

    @staticmethod
    def _side(verdict: Mapping[str, Any] | None) -> dict[str, Any] | None:
        if verdict is None or "reading" not in verdict:
            return None
        one = verdict["reading"]
        keys = ("value", "unit", "plus_minus", "state")
        return {**{key: one[key] for key in keys if key in one}, "word": verdict["word"]}

    # ---------------------------------------------------------------- readings

    @property
    def _chosen(self) -> str:
        scope = self._result["predictions"]["scope"]
        return str(scope["setting"]) if scope else ""

    def _predicted_option(self) -> Mapping[str, Any] | None:
        """The prediction for the setting that was read, else for the chosen one."""
        options = self._result["predictions"]["options"]
        read = next((one for one in options if one["setting"] == self._visit.fan_setting), None)
        option: Mapping[str, Any] | None = read or self._result["predictions"]["scope"]
        return option

    def _readings(self, targets: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
        """Every reading that a target rests on, and every other that was taken."""
        asked = {(one["key"], one["field"]): None for target in targets for one in target["reads"]}
        for visit in self._record.visits:
            if visit.kind == _TIME:
                asked |= dict.fromkeys(visit.readings)
        return [self._reading(key, field) for key, field in sorted(asked, key=self._rank)]

    def _rank(self, asked: tuple[str, str]) -> tuple[bool, str, int]:
        key, field = asked
        fields = list(KINDS[self._record.items[key].kind].fields)
        return key != HOUSE_KEY, key, fields.index(field)

    def _reading(self, key: str, name: str) -> dict[str, Any]:
        field = KINDS[self._record.items[key].kind].fields[name]
        before = reading(self._record, key, name, "found")
        after = reading(self._record, key, name, _TIME)
        predicted = (self._option or {}).get("readings", {}).get(key, {}).get(name)
        out: dict[str, Any] = {
            "key": key,
            "name": self._name(key),
            "field": name,
            "title": field.title,
            "unit": field.unit,
            "before": self._taken(before, None),
            "predicted": dict(predicted) if predicted else None,
            "after": self._taken(after, (key, name)),
            "error": None,
        }
        if after is not None and predicted:
            error = after.value - predicted["value"]
            wide = predicted["plus_minus"]
            out["error"] = {
                "value": number(error, field.unit),
                "unit": field.unit,
                "in_plus_minus": round(error / wide, 2) if wide else None,
            }
        return out

    def _taken(self, one: Reading | None, at: tuple[str, str] | None) -> dict[str, Any] | None:
        if one is None:
            return None
        out: dict[str, Any] = {"value": number(one.value, one.unit), "unit": one.unit, "state": one.state}
        wide = one.plus_minus if one.plus_minus is not None else self._plus_minus.get(at) if at else None
        if wide:
            out["plus_minus"] = number(wide, one.unit)
        return {**out, **{name: text for name, text in (("by", one.by), ("instrument", one.instrument)) if text}}

    # ---------------------------------------------------------------- conditions, causes, words

    def _conditions(self) -> list[dict[str, Any]]:
        """How the readings were taken, each with what it was before and whether it lets them be compared."""
        read, chosen = self._visit.fan_setting, self._chosen
        fine = not chosen or read == chosen
        status = "" if read and fine else "accept-other-setting" if read else "accept-not-said"
        out = [self._condition("fan_setting", "Fan setting", chosen, read, status)]
        found = found_visits(self._record)
        fields = KINDS[HOUSE_KEY].fields
        for name in (*_WRITTEN, *_AS_FOUND):
            now = self._visit.words.get(name, "")
            before = next((visit.words[name] for visit in found if name in visit.words), "")
            status = ""
            if name in _WRITTEN:
                status = "" if now else "accept-not-said"
            elif before and now != before:
                status = "accept-other-condition" if now else "accept-not-said"
            if now or before or name in _WRITTEN:
                out.append(self._condition(name, fields[name].title, before, now, status))
        for walked in self._fired():
            rule = self._run.policy.rules[walked.rule]
            if rule.authority == "data":
                said = self._words.say((rule.name,), walked.subject, rule.title)
                out.append(
                    {"name": rule.name, "title": rule.title, "before": "", "after": "", "fine": False, "said": said}
                )
        return out

    def _condition(self, name: str, title: str, before: str, after: str, status: str) -> dict[str, Any]:
        said = self._say(status) if status else ""
        return {"name": name, "title": title, "before": before, "after": after, "fine": not status, "said": said}

    def _fired(self) -> Iterator[Walked]:
        """Rules of acceptance that fired and have something to say."""
        for walked in self._run.walked:
            rule = self._run.policy.rules[walked.rule]
            if walked.fired and rule.stage == "accept" and f"{rule.name}.correct" in self._run.policy.said:
                yield walked

    def _causes(self) -> Iterator[dict[str, Any]]:
        for walked in self._fired():
            rule = self._run.policy.rules[walked.rule]
            if rule.authority == "data":
                continue  # says how the readings were taken, not what is wrong with the work
            read = sorted(check for check, time in checks_read(rule) if time == _TIME)
            ids = (rule.name, *(then.name for then in rule.then if then.what == "finding"))
            name = self._name(walked.subject)
            yield {
                "rule": rule.name,
                "place": walked.subject,
                "name": name,
                "title": rule.title,
                "said": self._words.say(ids, name, rule.title),
                "correct": self._words.say((f"{rule.name}.correct",), name),
                "verdicts": [f"{check}@{walked.subject}/{_TIME}" for check in read],
                "firing": f"{walked.rule}@{walked.subject}",
            }

    def _remarks(self) -> Iterator[dict[str, Any]]:
        """What else rules found at test-out and say, where nothing is to be corrected."""
        said_of = self._run.policy.said
        for walked in self._run.walked:
            rule = self._run.policy.rules[walked.rule]
            findings = [then.name for then in rule.then if then.what == "finding"]
            if not walked.fired or rule.stage != "accept" or not findings or AGREED in findings:
                continue
            if f"{rule.name}.correct" in said_of or not any(time == _TIME for _, time in checks_read(rule)):
                continue
            if any(then.what == "caution" for then in rule.then):
                continue  # said with its caution
            name = self._name(walked.subject)
            said = self._words.say((rule.name, *findings), name, rule.title)
            firing = f"{walked.rule}@{walked.subject}"
            yield {"rule": rule.name, "place": walked.subject, "name": name, "said": said, "firing": firing}

    def _cautions(self) -> Iterator[dict[str, Any]]:
        """Cautions that rules of acceptance give."""
        seen = set()
        for vote in self._run.votes:
            rule = self._run.policy.rules[vote.rule]
            if vote.then.what == "caution" and rule.stage == "accept" and vote.then.name not in seen:
                seen.add(vote.then.name)
                said = self._words.say((vote.then.name,), vote.subject, rule.title)
                yield {"name": vote.then.name, "said": said, "firing": vote.firing}

    def _agreed(self) -> dict[tuple[str, str], _Agreed]:
        out = {}
        for walked in self._run.walked:
            rule = self._run.policy.rules[walked.rule]
            if walked.fired and any(then.what == "finding" and then.name == AGREED for then in rule.then):
                name = self._name(walked.subject)
                said = self._words.say((rule.name,), name, rule.title)
                agree = self._words.say((f"{rule.name}.agree",), name, said)
                for check, time in checks_read(rule):
                    if time == _TIME:
                        out[check, walked.subject] = _Agreed(rule.name, said, agree)
        return out

    def _name(self, key: str) -> str:
        item = self._record.items.get(key)
        return item.name if item is not None and item.name else key.replace("-", " ")

    def _say(self, name: str) -> str:
        return self._words.say((name,), otherwise=name)


def _status(verdict: Verdict | None, limited: bool, gate: bool, agreed: bool) -> str:
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


def _answer(
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


def _leaves(verdicts: Iterable[Verdict]) -> Iterator[tuple[tuple[str, str], float]]:
    """± of every reading of the test-out that was judged, those of policy among them."""
    for verdict in verdicts:
        if verdict.time == _TIME and verdict.reading is not None:
            yield from _readings_of(verdict.reading)


def _readings_of(one: Number) -> Iterator[tuple[tuple[str, str], float]]:
    if one.form == "reading":
        yield (one.subject, one.name), one.plus_minus
    for part in one.parts:
        yield from _readings_of(part)


def _number(one: Number) -> dict[str, Any]:
    out: dict[str, Any] = {"value": number(one.value, one.unit), "unit": one.unit, "state": one.state}
    return {**out, **({"plus_minus": number(one.plus_minus, one.unit)} if one.plus_minus else {})}
