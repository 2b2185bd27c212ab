"""Lines that were considered and left out, each with the readings that rule it out."""

from collections.abc import Iterable, Iterator
from typing import Any

from airwarrant.policy.model import CheckClause, Rule
from airwarrant.result.trace import PolicyTexts, failing
from airwarrant.rules.facts import UNMEASURED, atoms_of, place_of
from airwarrant.rules.walk import ClauseResult, Walked
from airwarrant.run import Run
from airwarrant.scope.settle import speaks_of
from airwarrant.scope.votes import Vote
from airwarrant.units import number

#: Why a line that takes a reading is not called for.
READ_ALREADY = "it was read already"


class Chains:
    """Follows a clause back through findings to the verdicts it stands on, fired or not."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._walked = {(w.rule, w.subject): w for w in run.walked}
        self._makers: dict[tuple[str, str, str], list[Walked]] = {}
        for walked in run.walked:
            if walked.where_ok:
                rule, subject = run.policy.rules[walked.rule], run.subjects[walked.subject]
                for atom in atoms_of(rule, subject):
                    self._makers.setdefault((atom.what, atom.name, atom.key), []).append(walked)

    def against(self, walked: Walked) -> list[str]:
        """Ids of the verdicts that kept a rule from firing."""
        return self._collect(failing(walked), set())

    def behind(self, rule: str, subject: str) -> list[str]:
        """Ids of the verdicts a firing stands on."""
        return self._collect(self._walked[rule, subject].clauses, set())

    def makers(self, what: str, name: str, key: str) -> list[Walked]:
        """Rules that could conclude something at a place, fired or not."""
        return self._makers.get((what, name, key), [])

    def _collect(self, clauses: Iterable[ClauseResult], seen: set[tuple[str, str, str]]) -> list[str]:
        found: dict[str, None] = {}
        for clause in clauses:
            for read in clause.reads:
                if read.what == "verdict":
                    check, time, key = read.name
                    found[f"{check}@{key}/{time}"] = None
                elif read.what in ("finding", "line") and (read.what, *read.name) not in seen:
                    seen.add((read.what, read.name[0], read.name[1]))
                    for maker in self.makers(read.what, read.name[0], read.name[1]):
                        part = maker.clauses if maker.fired else failing(maker)
                        found.update(dict.fromkeys(self._collect(part, seen)))
        return list(found)


def declined_json(run: Run, chains: Chains, texts: PolicyTexts) -> list[dict[str, Any]]:
    """Every candidate that is not in the scope and not held.

    `how` is ``declined`` (a rule says no), ``left-out`` (the homeowner or estimator), ``no-gain`` (pruned) or
    ``not-called-for`` (no rule asked for it; `readings` says why).
    """
    out = []
    for task, place, proposers in _candidates(run):
        line = run.settled.lines.get(f"{task}@{place}")
        if line is not None and line.state in ("scoped", "held"):
            continue
        # In the order in which they were met: the first is the nearest to the line.
        against = dict.fromkeys(i for w in proposers if not w.fired for i in chains.against(w))
        entry: dict[str, Any] = {"line": f"{task}@{place}", "task": task, "place": place}
        if line is not None and line.pruned is not None:
            entry |= {"how": "no-gain", "gain_pct": number(line.pruned, "%"), "rule": line.won.rule, "because": ""}
        elif line is not None and line.state == "left-out":
            entry |= {"how": "left-out", "rule": line.won.rule, "because": ""}
        else:
            vote = line.won if line is not None else _declining(run, task, place)
            if vote is not None:
                entry |= {
                    "how": "declined",
                    "rule": vote.rule,
                    "because": vote.then.text,
                    "authority": vote.authority,
                    "firing": vote.firing,
                }
                behind = dict.fromkeys(chains.behind(vote.rule, vote.subject))
                # A decline of a whole group speaks of many lines: each is ruled out by the readings of its own rules first.
                against = against | behind if vote.then.name.startswith("group:") else behind | against
            else:
                entry |= {"how": "not-called-for", "rule": "", "because": _first_failed(run, texts, proposers)}
        entry["readings"] = list(against)
        entry["would_come_from"] = sorted({w.rule for w in proposers})
        out.append(entry)
    return out


def _first_failed(run: Run, texts: PolicyTexts, proposers: list[Walked]) -> str:
    """The clause that kept the first of the rules from firing, as a sentence; a reading that is there needs no line to take it."""
    if any(_was_read(run, walked, result) for walked in proposers for result in failing(walked)):
        return READ_ALREADY
    for walked in proposers:
        for result in failing(walked):
            said = texts.clause(walked.rule, result)["said"]
            return f"not while this holds: {said}" if result.part == "unless" else f"this does not hold: {said}"
    return ""


def _was_read(run: Run, walked: Walked, result: ClauseResult) -> bool:
    """Whether a rule that asks for a reading where there is none did not fire because there is one."""
    clause = run.policy.rules[walked.rule].when[result.index] if result.part == "when" else None
    return isinstance(clause, CheckClause) and clause.is_ == (UNMEASURED,) and bool(result.reads)


def _candidates(run: Run) -> Iterator[tuple[str, str, list[Walked]]]:
    """(task, place, rules that could ask for it there): every line some rule's `where` admits."""
    found: dict[tuple[str, str], list[Walked]] = {}
    for walked in run.walked:
        rule: Rule = run.policy.rules[walked.rule]
        if not walked.where_ok:
            continue
        for then in rule.then:
            if then.what == "line":
                place = place_of(run.subjects[walked.subject], then.at)
                found.setdefault((then.name, place), []).append(walked)
    for vote in run.votes:
        if vote.then.what == "decline" and vote.then.name.startswith("task:"):
            task = vote.then.name.removeprefix("task:")
            kinds = {run.subjects[place].kind for other, place in found if other == task}
            if (not kinds and vote.kind != "house") or vote.kind in kinds:
                found.setdefault((task, vote.place), [])
    for (task, place), proposers in sorted(found.items()):
        yield task, place, proposers


def _declining(run: Run, task: str, place: str) -> Vote | None:
    votes = [
        v
        for v in run.votes
        if v.then.what == "decline" and speaks_of(v.then.name, v, task, run.subjects[place], run.policy.tasks)
    ]
    # A decline of the task itself says more than one of its whole group.
    return min(votes, key=lambda v: (v.rank, v.kind == "house", v.then.name.startswith("group:"), v.rule), default=None)
