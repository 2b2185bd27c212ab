"""The trace: every firing and every rule that did not fire, each clause with what it read, and every policy value behind it."""

from collections.abc import Iterable, Mapping
from importlib.metadata import version
from typing import Any

from airwarrant.policy.model import Named, Policy, Rule, Sourced
from airwarrant.policy.show import clause_sentence
from airwarrant.rules.walk import ClauseResult, Read, Walked
from airwarrant.run import Run
from airwarrant.scope.order import task_order
from airwarrant.source.place import Place


def place_json(layer: str, place: Place) -> dict[str, Any]:
    """Layer and position of something in a policy file."""
    return {"layer": layer, "file": place.file, "line": place.line, "column": place.column}


def value_json(name: str, policy: Policy) -> dict[str, Any]:
    """A policy value with who set it, its source and all it overrode."""
    if name in policy.parameters:
        parameter = policy.parameters[name]
        shown: dict[str, Any] = {
            "kind": "parameter",
            "value": parameter.value,
            "unit": parameter.unit,
            "title": parameter.title,
        }
        return _sourced(name, shown, parameter, parameter.keys["value"], parameter.basis)
    table = policy.tables[name]
    shown = {
        "kind": "table",
        "rows": [list(row) for row in table.rows],
        "unit": table.unit,
        "by": table.by,
        "title": table.title,
        "rows_at": [[place.line, place.column] for place in table.row_places],
    }
    return _sourced(name, shown, table, table.keys["rows"], table.basis)


def _sourced(
    name: str, shown: Mapping[str, Any], block: Named, value: Sourced, basis: Mapping[str, Any]
) -> dict[str, Any]:
    return {
        "name": name,
        **shown,
        **place_json(value.layer, value.place),
        "basis": _basis(basis),
        "overrode": [{"value": _plain(o.value), **place_json(o.layer, o.place)} for o in value.overrode],
    }


def _basis(basis: Mapping[str, Any]) -> dict[str, str]:
    return {key: str(text) for key, text in sorted(basis.items())}


def _plain(value: Any) -> Any:
    return (
        [list(row) if isinstance(row, (list, tuple)) else row for row in value]
        if isinstance(value, (list, tuple))
        else value
    )


class PolicyTexts:
    """What the trace says of a policy whatever the job: made once a policy, shared by its results.

    Attributes
    ----------
    rules, tasks, checks : dict
        Title and place of each, by name.
    order : dict
        Rank of each task in the order of work.
    version : str
        The program's own.
    """

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        self.version = version("airwarrant")
        self.order = task_order(policy.tasks)
        self.rules = {
            name: {
                "title": rule.title,
                "stage": rule.stage,
                "authority": rule.authority,
                "basis": _basis(rule.keys["basis"].value) if "basis" in rule.keys else {},
                **place_json(rule.layer, rule.place),
            }
            for name, rule in policy.rules.items()
        }
        self.tasks = {
            name: {"title": task.title, **place_json(task.layer, task.place)} for name, task in policy.tasks.items()
        }
        self.checks = {
            name: {"title": check.title, "must_be": check.must_be, **place_json(check.layer, check.place)}
            for name, check in policy.checks.items()
        }
        self._clauses = {
            (name, part, index): self._clause(rule, part, index)
            for name, rule in policy.rules.items()
            for part, clauses in (("when", rule.when), ("any", rule.any), ("unless", rule.unless))
            for index in range(len(clauses))
        }
        self._values: dict[str, dict[str, Any]] = {}

    def clause(self, rule: str, result: ClauseResult) -> dict[str, Any]:
        """Sentence and place of a clause."""
        return self._clauses[rule, result.part, result.index]

    def value(self, name: str) -> dict[str, Any]:
        """A policy value with who set it and what it overrode."""
        if name not in self._values:
            self._values[name] = value_json(name, self.policy)
        return self._values[name]

    def _clause(self, rule: Rule, part: str, index: int) -> dict[str, Any]:
        clause = {"when": rule.when, "any": rule.any, "unless": rule.unless}[part][index]
        place = rule.clause_places.get((part, index), rule.place)
        layer = rule.keys[part].layer if part in rule.keys else rule.layer
        return {"said": clause_sentence(self.policy, rule, clause), **place_json(layer, place)}


def trace_json(run: Run, texts: PolicyTexts, names: Iterable[str]) -> dict[str, Any]:
    """Return the trace of a run; `names` are the policy values that were read."""
    return {
        "policy": {name: texts.value(name) for name in sorted(set(names))},
        "rules": texts.rules,
        "tasks": texts.tasks,
        "checks": texts.checks,
        "firings": [_fired(w, run, texts) for w in run.walked if w.fired],
        "not_fired": [_not_fired(w, texts) for w in run.walked if not w.fired],
        "rounds": [
            {
                "round": r.number,
                "scoped": list(r.scoped),
                "held": list(r.held),
                "added": list(r.added),
                "predicted_at": r.setting,
            }
            for r in run.rounds
        ],
    }


def _fired(walked: Walked, run: Run, texts: PolicyTexts) -> dict[str, Any]:
    rule = run.policy.rules[walked.rule]
    return {
        "id": f"{walked.rule}@{walked.subject}",
        "rule": walked.rule,
        "subject": walked.subject,
        "stratum": run.outcome.strata[walked.rule],
        "where": {field: run.subjects[walked.subject].word(field) for field, _ in rule.where},
        "clauses": [clause_json(c, walked.rule, texts) for c in walked.clauses],
    }


def _not_fired(walked: Walked, texts: PolicyTexts) -> dict[str, Any]:
    out: dict[str, Any] = {"rule": walked.rule, "subject": walked.subject}
    if not walked.where_ok:
        out["where"] = {name: word for name, word in walked.where}
        return out
    out["failed"] = [clause_json(c, walked.rule, texts) for c in failing(walked)]
    return out


def failing(walked: Walked) -> list[ClauseResult]:
    """Clauses that kept a rule from firing: `when` that fail, `unless` that hold, and every alternative where none holds."""
    alternatives = [c for c in walked.clauses if c.part == "any"]
    none = bool(alternatives) and not any(c.holds for c in alternatives)
    return [
        c
        for c in walked.clauses
        if (c.part == "when" and not c.holds) or (c.part == "unless" and c.holds) or (c.part == "any" and none)
    ]


def clause_json(result: ClauseResult, rule: str, texts: PolicyTexts) -> dict[str, Any]:
    """One clause as it stood: its sentence, place, whether it held and the words it read."""
    return {
        "part": result.part,
        "holds": result.holds,
        **texts.clause(rule, result),
        "reads": [read_json(r) for r in result.reads],
    }


def read_json(read: Read) -> dict[str, Any]:
    """What a clause read: a verdict's word, a word of the record, a finding or line that is there or not."""
    if read.what == "verdict":
        check, time, key = read.name
        return {"verdict": f"{check}@{key}/{time}", "word": read.word}
    if read.what == "word":
        return {"field": read.name[1], "subject": read.name[0], "word": read.word}
    return {read.what: "@".join(read.name), "present": read.word == "present"}
