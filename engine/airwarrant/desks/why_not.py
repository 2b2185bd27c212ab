"""Why a line is not in the scope, and the smallest change that would bring it in.

The job is evaluated again from what the result was made from; every change that is named was put in and evaluated as a whole.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from airwarrant.desks.flips import Flip, Job, physical, stands
from airwarrant.desks.made_from import MadeFrom, policy_folders, same_policy
from airwarrant.desks.policy_flips import PolicyEdit, policy_edits
from airwarrant.errors import CallError, Fault, nearest
from airwarrant.evaluate import Evaluator
from airwarrant.policy.cache import PolicyCache
from airwarrant.policy.model import Rule
from airwarrant.result.trace import PolicyTexts, failing
from airwarrant.rules.facts import Subject, place_of
from airwarrant.rules.verdict import Verdict
from airwarrant.rules.walk import PRESENT, ClauseResult, Walked
from airwarrant.run import Run
from airwarrant.scope.settle import speaks_of
from airwarrant.units import number

STANDING = ("scoped", "earlier")


@dataclass(frozen=True, slots=True)
class Against:
    """One clause that keeps a rule off.

    Attributes
    ----------
    said : str
        The clause; where `holds` is true it must not hold, else it must.
    place : str
        Where the clause stands.
    words : tuple of (subject, field, word)
        Words of the record that it read.
    verdicts : tuple of mapping
        Verdicts that it read, or that stand behind a finding it read: as in a result file.
    absent : tuple of str
        Findings and lines that are not there and would have to be, or are there and must not be, as ``finding@place``.
    """

    said: str
    holds: bool
    place: str
    words: tuple[tuple[str, str, str], ...] = ()
    verdicts: tuple[Mapping[str, Any], ...] = ()
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposer:
    """A rule that could bring the line in: for which subject, and all that keeps it off; nothing if it fired."""

    rule: str
    title: str
    subject: str
    place: str
    against: tuple[Against, ...]

    @property
    def fired(self) -> bool:
        return not self.against


@dataclass(frozen=True, slots=True)
class Said:
    """A decline or a hold that speaks of the line."""

    what: str
    rule: str
    subject: str
    authority: str
    text: str
    place: str


@dataclass(frozen=True, slots=True)
class Decision:
    """What the record itself decides of the line, where it says so, and whether the line is in the scope without it."""

    decision: str
    place: str
    returns: bool


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Answer for one line.

    Attributes
    ----------
    state : str
        ``scoped``, ``earlier``, ``held``, ``declined``, ``left-out``, ``no-gain``, ``not-called-for`` or ``no-rule``: nothing in
        the policy asks for this task at a place of this kind.
    changes : tuple of Flip
        Changes of the record that bring it in, the smallest first.
    edits, refused : tuple of PolicyEdit
        The smallest edit of one policy value, and those that would do it and are not allowed.
    kinds : tuple of str
        With ``no-rule``: the kinds of places that rules ask for the task at.
    evaluations : int
        How often the whole job was evaluated.
    """

    line: str
    title: str
    state: str
    proposers: tuple[Proposer, ...] = ()
    said: tuple[Said, ...] = ()
    changes: tuple[Flip, ...] = ()
    edits: tuple[PolicyEdit, ...] = ()
    refused: tuple[PolicyEdit, ...] = ()
    kinds: tuple[str, ...] = ()
    gain_pct: float | None = None
    decision: Decision | None = None
    evaluations: int = 0


def why_not(result: Mapping[str, Any], made: MadeFrom, line: str, policies: Sequence[Path] = ()) -> tuple[WhyNot, ...]:
    """Say why a line is not in the scope of a result.

    Parameters
    ----------
    result : mapping
        The result document.
    made : MadeFrom
        What it was made from.
    line : str
        ``task@place``, or a task: then every place of it that is not in the scope.
    policies : sequence of Path
        Policy folders to take the policy from; none: what the result carries.

    Raises
    ------
    CallError
        If there is no such task or place, or the policy is not the one of the result.
    """
    record = replace(made.record, market=made.market)
    with policy_folders(made, policies) as folders:
        policy = PolicyCache(folders).policy(record.market, record.dates)
        same_policy(result, policy.digest)
    with Evaluator(policy, detail=False) as evaluator:
        job = Job(made.document, evaluator, evaluator.run(record))
        earlier = {one["id"] for one in result["lines"] if one["state"] == "earlier"}
        return tuple(_answer(job, task, place, earlier, made.policy) for task, place in _asked(job.run, line, earlier))


def _asked(run: Run, line: str, earlier: set[str]) -> list[tuple[str, str]]:
    """The line asked for, or every place of a task that no line stands at."""
    task, at, place = line.partition("@")
    if task not in run.policy.tasks:
        found = f"the policy has no task `{task}`"
        advice = nearest(task, run.policy.tasks) or "`airwarrant policy words` lists every task."
        raise CallError([Fault("unknown-task", found, "a task of the policy", advice=advice)])
    places = _places(run, task)
    if at:
        if place not in run.subjects:
            known = places or sorted(run.subjects)
            found = f"the record has no `{place}`"
            raise CallError([Fault("unknown-place", found, ", ".join(known), advice=nearest(place, run.subjects))])
        return [(task, place)]
    standing = {one.id for one in run.settled.active()} | earlier
    spoken_of = sorted({key for walked, key in _asking(run, task) if walked.where_ok} | _declined(run, task)) or places
    absent = [(task, key) for key in spoken_of if f"{task}@{key}" not in standing]
    return absent or [(task, key) for key in spoken_of or ["house"]]


def _places(run: Run, task: str) -> list[str]:
    """Places of the record whose kind some rule could ask for a task at."""
    return sorted({place for _, place in _asking(run, task)})


def _declined(run: Run, task: str) -> set[str]:
    """Places of a kind the task is asked for at, where a rule says no to it by name."""
    kinds = {run.subjects[key].kind for key in _places(run, task)}
    votes = (vote for vote in run.votes if vote.then.what == "decline" and vote.then.name == f"task:{task}")
    return {vote.place for vote in votes if vote.kind in kinds}


def _asking(run: Run, task: str) -> Iterator[tuple[Walked, str]]:
    for walked in run.walked:
        subject = run.subjects[walked.subject]
        for then in run.policy.rules[walked.rule].then:
            if then.what == "line" and then.name == task:
                yield walked, place_of(subject, then.at)


def _answer(job: Job, task: str, place: str, earlier: set[str], files: Mapping[str, str]) -> WhyNot:
    run = job.run
    line, title = f"{task}@{place}", run.policy.tasks[task].title
    asking = [walked for walked, key in _asking(run, task) if key == place]
    state, gain = _state(run, line, earlier)
    if state in STANDING:
        return WhyNot(line, title, state, tuple(_proposers(run, asking)))
    if not asking:
        kinds = {run.subjects[key].kind for key in _places(run, task)} or set(_kinds(run, task))
        return WhyNot(line, title, "no-rule", said=_said(run, task, place), kinds=tuple(sorted(kinds)))
    changes = physical(job, task, place)
    edits, refused = policy_edits(job, task, place, files)
    said = _said(run, task, place)
    if state == "not-called-for" and any(one.what == "decline" for one in said):
        state = "declined"
    return WhyNot(
        line,
        title,
        state,
        tuple(_proposers(run, asking)),
        said,
        changes,
        edits,
        refused,
        gain_pct=gain,
        decision=_decision(job, line),
        evaluations=job.evaluations,
    )


def _kinds(run: Run, task: str) -> Iterator[str]:
    for rule in run.policy.rules.values():
        if any(then.what == "line" and then.name == task for then in rule.then):
            yield rule.each


def _state(run: Run, line: str, earlier: set[str]) -> tuple[str, float | None]:
    held = run.settled.lines.get(line)
    if held is None:
        return ("earlier" if line in earlier else "not-called-for"), None
    if held.pruned is not None:
        return "no-gain", number(float(held.pruned), "%")
    if held.state == "declined" and line in earlier:
        return "earlier", None
    return held.state, None


def _said(run: Run, task: str, place: str) -> tuple[Said, ...]:
    """Declines and holds that speak of the line, the strictest first; and what it needs and is not there."""
    votes = [
        vote
        for vote in run.votes
        if vote.then.what in ("decline", "hold")
        and speaks_of(vote.then.name, vote, task, run.subjects[place], run.policy.tasks)
    ]
    out = [
        Said(
            vote.then.what,
            vote.rule,
            vote.subject,
            vote.authority,
            vote.then.text,
            str(run.policy.rules[vote.rule].place),
        )
        for vote in sorted(votes, key=lambda one: (one.rank, one.rule, one.subject))
    ]
    line = run.settled.lines.get(f"{task}@{place}")
    for hold in line.held_by if line else ():
        if hold.name.startswith("needs:"):
            needed = f"the task {hold.until} is in the scope: this line needs it"
            out.append(Said("needs", hold.rule, hold.subject, "", needed, str(run.policy.tasks[task].place)))
    return tuple(out)


def _decision(job: Job, line: str) -> Decision | None:
    """What the record decides of the line, and whether it comes back without that."""
    record = job.record
    taken = [(one.decision, one.place) for one in record.choices if one.line == line]
    taken += [(one.decision, one.place) for one in record.overrides if one.line == line]
    if not taken:
        return None
    without = replace(
        record,
        choices=tuple(one for one in record.choices if one.line != line),
        overrides=tuple(one for one in record.overrides if one.line != line),
    )
    returns = stands(job.evaluator.run(without), line)
    decision, place = taken[0]
    return Decision(decision, str(place or ""), returns)


def _proposers(run: Run, asking: Sequence[Walked]) -> Iterator[Proposer]:
    texts = PolicyTexts(run.policy)
    walks = {(walked.rule, walked.subject): walked for walked in run.walked}
    for walked in asking:
        rule, subject = run.policy.rules[walked.rule], run.subjects[walked.subject]
        if walked.where_ok:
            against = [_clause(run, texts, rule, subject, one, walks) for one in failing(walked)]
        else:
            against = [_where(rule, subject, field, word) for field, word in walked.where]
        yield Proposer(rule.name, rule.title, subject.key, str(rule.place), tuple(against))


def _where(rule: Rule, subject: Subject, field: str, word: str) -> Against:
    wanted = next(words for name, words in rule.where if name == field)
    said = f"it speaks of a {rule.each} whose {field} is {' or '.join(wanted)}"
    return Against(said, False, str(rule.place), ((subject.key, field, word),))


def _clause(
    run: Run,
    texts: PolicyTexts,
    rule: Rule,
    subject: Subject,
    result: ClauseResult,
    walks: Mapping[tuple[str, str], Walked],
) -> Against:
    words, verdicts, absent = [], [], []
    for read in result.reads:
        if read.what == "word":
            words.append((read.name[0], read.name[1], read.word))
        elif read.what == "verdict":
            verdict = run.verdicts.get((read.name[0], read.name[1], read.name[2]))
            verdicts.append(
                _verdict(verdict, run) if verdict else {"id": f"{read.name[0]}@{read.name[2]}", "word": read.word}
            )
        elif read.what in ("finding", "line"):
            there = read.word == PRESENT
            absent.append(f"{read.name[0]}@{read.name[1]} is {'there' if there else 'not there'}")
            verdicts += [_verdict(one, run) for one in _behind(run, read.name[0], read.name[1], there)]
        else:
            absent.append(
                f"{read.name[0]} was {'in' if read.word == PRESENT else 'not in'} the scope of the round before"
            )
    told = texts.clause(rule.name, result)
    place = rule.clause_places.get((result.part, result.index), rule.place)
    unique = {one["id"]: one for one in verdicts}
    return Against(
        told["said"], result.part == "unless", str(place), tuple(words), tuple(unique.values()), tuple(absent)
    )


def _behind(run: Run, name: str, key: str, there: bool) -> Iterator[Verdict]:
    """Verdicts that the rules of a finding or line read at a place: of those that fired if it is there, else what kept them off."""
    for walked in run.walked:
        rule, subject = run.policy.rules[walked.rule], run.subjects[walked.subject]
        if not walked.where_ok or walked.fired != there:
            continue
        concludes = (then for then in rule.then if then.what in ("finding", "line") and then.name == name)
        if any(place_of(subject, then.at) == key for then in concludes):
            for clause in walked.clauses if there else failing(walked):
                for read in clause.reads:
                    if read.what == "verdict":
                        verdict = run.verdicts.get((read.name[0], read.name[1], read.name[2]))
                        if verdict is not None:
                            yield verdict


def _verdict(verdict: Verdict, run: Run) -> Mapping[str, Any]:
    check = run.policy.checks[verdict.check]
    return {"title": check.title, "must_be": check.must_be, **verdict.as_json()}
