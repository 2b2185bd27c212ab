"""Evaluate one job: judge, fire, settle, predict, and round again until the scope stands still.

The one module that sees the record, the policy, the rules, the scope and the house together.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace

from airwarrant.air.network_parts import NotConverged
from airwarrant.assumed import assumptions_of
from airwarrant.errors import AirFault
from airwarrant.house.assumptions import si
from airwarrant.house.needed import NEEDED
from airwarrant.house.path import AirPath
from airwarrant.house.predict import REGISTERS, Prediction, Predictor, prepare
from airwarrant.house.room_targets import Target, room_targets
from airwarrant.job.dictionary import KINDS
from airwarrant.job.lookup import subjects
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.judged import Judged, Verdicts
from airwarrant.line_sizes import LineSizes
from airwarrant.outlook import Outlook, best
from airwarrant.policy.model import CarriedClause, Policy, Then
from airwarrant.policy.steering import check_steering
from airwarrant.policy.unfilled import jurisdiction_known
from airwarrant.pricing.job import price_job
from airwarrant.rereads import conflicting, measure_first
from airwarrant.rules.concluding import Concluding
from airwarrant.rules.engine import Memory, Outcome
from airwarrant.rules.facts import Facts, Subject
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen
from airwarrant.rules.verdict import Verdict
from airwarrant.rules.verify import consistent, verify
from airwarrant.rules.widening import Widening
from airwarrant.run import Decisive, Option, Reread, Round, Run
from airwarrant.scope.order import task_order
from airwarrant.scope.settle import Settled, settle
from airwarrant.scope.votes import Vote, votes_of
from airwarrant.units import convert

#: What the air network adds to the readings found, and a room's share of the air.
_OF_AIR = {
    field.name
    for kind in KINDS.values()
    for field in kind.fields.values()
    if field.section == "derived" and field.form == "reading"
} | {"target"}


#: Makes what judges a job, as `Judged` does.
Judging = Callable[
    [
        Prepared,
        JobRecord,
        Mapping[str, tuple[Subject, ...]],
        Mapping[str, Target],
        Mapping[tuple[str, str], Reading],
        Seen | None,
    ],
    Judged,
]
#: Makes what sizes the lines of a job, as `LineSizes` does.
Sizing = Callable[[Prepared, JobRecord, Mapping[str, tuple[Subject, ...]], Seen | None], LineSizes]


class Evaluator:
    """Evaluates jobs under one policy; builds the engine once.

    Parameters
    ----------
    policy : Policy
    predictor : Predictor or None
        The house's air network; None evaluates without prediction (used by benchmarks).
    detail : bool
        Whether what is only shown is worked out: draws for ranges, the unit exchanged like for like, effects of lines, the scope step
        by step, scopes one line smaller and larger. No decision rests on it.
    rereads : bool
        Whether it is worked out which readings to take again before the offer: those that the air network asks for, and close
        verdicts that stand between a rule and a line. No line rests on it.
    concluding : Concluding or None
        The policy's rules made ready, where others use them too; whoever made it closes it.
    judging : callable
        Makes what judges one job, of the arguments of `Judged`.
    sizing : callable
        Makes what sizes the lines of one job, of the arguments of `LineSizes`.
    """

    def __init__(
        self,
        policy: Policy,
        predictor: Predictor | None = prepare,
        *,
        detail: bool = True,
        rereads: bool = True,
        concluding: Concluding | None = None,
        judging: Judging = Judged,
        sizing: Sizing = LineSizes,
    ) -> None:
        check_steering(policy, NEEDED if predictor is not None else {})
        self.policy = policy
        self._predictor = predictor
        self._detail = detail
        self._rereads = rereads
        self._order = task_order(policy.tasks)
        self._own = concluding is None
        self._judging = judging
        self._sizing = sizing
        self._concluding = concluding or Concluding(policy.rules)
        self.prepared = Prepared(policy)
        self._widening = Widening(self.prepared, self._concluding.widen)
        self._plain_checks = self.prepared.plain_checks()
        self._carried_read = frozenset(
            clause.task
            for rule in policy.rules.values()
            for clause in (*rule.when, *rule.any, *rule.unless)
            if isinstance(clause, CarriedClause)
        )
        self._assumptions = assumptions_of(policy)

    def close(self) -> None:
        """Free the engine's rulesets."""
        if self._own:
            self._concluding.close()

    def concludes_by(self, concluding: Concluding) -> bool:
        """Whether these are the rules it evaluates by."""
        return self._concluding is concluding

    def __enter__(self) -> "Evaluator":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def run(self, record: JobRecord, *, check_both: bool = False, seen: Seen | None = None) -> Run:
        """Evaluate one job.

        Parameters
        ----------
        record : JobRecord
        check_both : bool
            Also evaluate every round with the reference evaluator and compare.
        seen : Seen or None
            Gathers what was read, judged and fired on the way.

        Raises
        ------
        EngineFault
            If the engine and the walk over every rule disagree, or a guard rail was met.
        AirFault
            If the house's air network was not solved; with the network, never with a number.
        """
        try:
            run = _Job(self, record, check_both, seen).run()
        except NotConverged as error:
            raise AirFault(
                "network-not-solved", f"job {record.id}: the air network was not solved: {error}", error.network
            ) from error

        scopes = [one.lines for one in run.alternatives]
        prices = price_job(self.policy, record, run.subjects, run.settled, run.sizes, self._order, scopes)
        return replace(run, prices=prices)

    def found(self, record: JobRecord, asked: Collection[tuple[str, str]]) -> Verdicts | None:
        """Judge checks of readings found, each by (check, subject), without the air network and the rules that scope.

        Returns
        -------
        mapping or None
            The verdicts that `run` comes to; None where one of them may rest on what only the network or a room's share of the air
            tells.
        """
        kinds = subjects(record, jurisdiction_known=jurisdiction_known(self.policy.market))
        by_key = {subject.key: subject for several in kinds.values() for subject in several}
        judged = Judged(self.prepared, record, kinds, {}, {})
        checks = self.policy.checks
        doubting = {
            (name, "found", s.key): judged.one((name, "found", s.key), {})
            for name in sorted(self._widening.checks)
            for s in kinds.get(checks[name].each, ())
        }
        doubts = self._widening.doubts(kinds, doubting)
        doubted = {(one.key, name) for kind, name in self._widening.widened_by(_OF_AIR) for one in kinds.get(kind, ())}
        found: Verdicts = {}
        for name, key in asked:
            if name not in checks or key not in by_key or by_key[key].kind != checks[name].each:
                continue
            verdict = judged.one((name, "found", key), doubts)
            if {one.partition(" of ")[0] for one in verdict.missing} & _OF_AIR or verdict.rests_on(doubted):
                return None
            found[name, "found", key] = verdict
        return found

    def parameter(self, name: str, unit: str) -> float:
        """Value of a parameter that steers the rounds, in `unit`."""
        parameter = self.policy.parameters[name]
        return convert(float(parameter.value), parameter.unit, unit)


class _Job:
    """One evaluation under way."""

    def __init__(self, evaluator: Evaluator, record: JobRecord, check_both: bool, seen: Seen | None) -> None:
        self._watch = seen
        self._e = evaluator
        self._policy = evaluator.policy
        self._record = record
        self._check_both = check_both
        market = self._policy.market
        self._by_kind = subjects(record, jurisdiction_known=jurisdiction_known(market))
        self._subjects = {s.key: s for kind in self._by_kind.values() for s in kind}
        if seen is not None:
            seen.kinds.update(kind for kind, several in self._by_kind.items() if several)
        self._first: dict[tuple[str, str, str], int] = {}
        self._targets = room_targets(record, evaluator._assumptions) if evaluator._predictor is not None else {}
        air = None
        if evaluator._predictor is not None:
            flows = {room: si(target.flow) for room, target in self._targets.items()}
            air = evaluator._predictor(record, evaluator._assumptions, flows)
        found = air.found() if air is not None else {}
        self._judged = evaluator._judging(evaluator.prepared, record, self._by_kind, self._targets, found, seen)
        self._sizes = evaluator._sizing(evaluator.prepared, record, self._by_kind, seen)
        self._outlook = Outlook(record, self._policy, evaluator._order, air, self._judged.predicted, self._sizes.found)

    def run(self) -> Run:
        read = self._judged.read(self._find_doubts, self._e._plain_checks)
        carried: tuple[Vote, ...] = ()
        rounds: list[Round] = []
        option: Option | None = None
        scope: frozenset[str] | None = None
        facts, memory = Facts(self._by_kind, {}), Memory()
        most = max(1, round(self._e.parameter("rounds_most", "1")))
        ended, stands = f"stopped after {most} rounds: the rules have not seen the last prediction", False
        for number in range(1, most + 1):
            verdicts = {**read, **(self._seen(option.prediction) if option else {})}
            tasks = frozenset(vote.then.name for vote in carried) & self._e._carried_read
            words = {key: v.word for key, v in verdicts.items()}
            if number > 1 and (words, tasks) == (facts.verdicts, facts.carried):
                # Rules that read the same conclude the same.
                ended, stands = f"nothing that rules read had changed after round {number - 1}", True
                break
            facts = Facts(self._by_kind, words, tasks)
            outcome = self._e._concluding.run(facts, memory)
            if self._watch is not None:
                self._watch.fired(outcome.firings, outcome.atoms)
            if self._check_both:
                verify(outcome, self._policy.rules, facts)
            cast = votes_of(self._policy.rules, outcome.firings, self._subjects, number)
            votes = self._with_carried(tuple(self._dated(vote) for vote in cast), carried)
            settled = self._settle(votes, outcome)
            active = frozenset(line.id for line in settled.active())
            before = scope or frozenset()
            if active == scope:
                ended, stands = f"round {number} scoped what round {number - 1} had scoped", True
                rounds.append(self._round(number, settled, before, option))
                break
            option = best(self._options(settled))
            rounds.append(self._round(number, settled, before, option))
            scope = active
            carried = tuple(line.won for line in settled.active())
        settled = self._prune(settled, option)
        options = self._options(settled, ranges=self._e._detail)
        chosen = best(options)
        findings = {a.name for a in outcome.atoms if a.what == "finding"}
        walked = self._e._concluding.walk(facts, outcome.atoms)
        consistent(outcome, walked)
        return Run(
            self._record,
            self._policy,
            self._subjects,
            verdicts,
            outcome,
            walked,
            votes,
            settled,
            tuple(rounds),
            ended,
            stands or option is None,
            self._sizes.predicted(settled, chosen.prediction) if chosen else self._sizes.found(settled),
            self._outlook.options([], ranges=True) if self._e._detail else (),
            options,
            chosen.setting if chosen else "",
            self._outlook.effects(settled, chosen.setting) if chosen and self._e._detail else {},
            self._outlook.steps(settled, chosen.setting) if chosen and self._e._detail else (),
            self._outlook.alternatives(settled, findings) if self._e._detail else (),
            self._outlook.air.calibration if self._outlook.air else None,
            self._outlook.air.as_found() if self._outlook.air else None,
            self._targets,
            self._decisive(verdicts, facts, outcome, settled) if self._e._rereads else (),
            self._rereads(chosen) if self._e._rereads else (),
            self._check_both,
            *self._paths(settled, chosen),
        )

    def _seen(self, prediction: Prediction) -> Verdicts:
        """What rules read of a prediction: itself judged, and the test-out held against it."""
        return {**self._judged.predicted(prediction), **self._judged.against(prediction)}

    def _paths(self, settled: Settled, chosen: Option | None) -> tuple[AirPath | None, AirPath | None]:
        """The air path as found and as the scope leaves it; only shown."""
        air = self._outlook.air
        if air is None or not self._e._detail:
            return None, None
        work = self._outlook.work(settled, _ids(settled))
        return air.path((), ""), air.path(work, chosen.setting) if chosen else None

    def _find_doubts(self, found: Mapping[tuple[str, str, str], Verdict]) -> dict[tuple[str, str], float]:
        """Fire the rules that widen a reading's ± first: every verdict is judged with the doubt they leave."""
        return self._e._widening.doubts(self._by_kind, found, self._watch)

    def _with_carried(self, votes: tuple[Vote, ...], carried: tuple[Vote, ...]) -> tuple[Vote, ...]:
        """Add the votes of lines scoped before that no rule asks for again: what a line cured must not remove it."""
        asked = {(v.then.name, v.place) for v in votes if v.then.what == "line"}
        return votes + tuple(v for v in carried if (v.then.name, v.place) not in asked)

    def _dated(self, vote: Vote) -> Vote:
        """The vote with the round in which its firing first cast it."""
        first = self._first.setdefault((vote.rule, vote.subject, vote.then.name), vote.round)
        return vote if vote.round == first else vote._replace(round=first)

    def _settle(self, votes: tuple[Vote, ...], outcome: Outcome) -> Settled:
        findings = frozenset((a.name, a.key) for a in outcome.atoms if a.what == "finding")
        left_out = {o.line for o in self._record.overrides if o.decision == "left-out"}
        left_out |= {c.line for c in self._record.choices if c.decision == "declined"}
        return settle(votes, self._policy.tasks, self._subjects, findings, frozenset(left_out))

    def _round(self, number: int, settled: Settled, before: frozenset[str], option: Option | None) -> Round:
        scoped = tuple(sorted(line.id for line in settled.active()))
        held = tuple(sorted(line.id for line in settled.lines.values() if line.state == "held"))
        added = tuple(i for i in scoped if i not in before)
        return Round(number, scoped, held, added, option.setting if option else "")

    def _options(self, settled: Settled, *, ranges: bool = False) -> tuple[Option, ...]:
        return self._outlook.options(self._outlook.work(settled, _ids(settled)), ranges=ranges)

    def _prune(self, settled: Settled, option: Option | None) -> Settled:
        """Take out, once, each line that must gain and does not: policy's floor, or too little beside the doubt of the gain."""
        if option is None:
            return settled
        floor, times = self._e.parameter("gain_floor", "%"), self._e.parameter("predict_gain_times", "1")
        for line in settled.active():
            if not self._policy.tasks[line.task].must_gain or line.won.authority in ("safety", "code"):
                continue
            found = self._outlook.gain(settled, line, option.setting)
            if found is None:
                continue
            gain, whole, rest = found
            without = whole.columns[REGISTERS][0] - gain.value
            enough = gain.value >= max(floor / 100.0 * without, times * gain.sd)
            # A line that a predicted check needs stays, whatever it gains at the registers.
            if not enough and self._fails(rest) <= self._fails(whole):
                pruned = replace(line, state="declined", pruned=100.0 * gain.value / without)
                settled = replace(settled, lines={**settled.lines, line.id: pruned})
        return settled

    def _fails(self, prediction: Prediction) -> frozenset[str]:
        return frozenset(v.id for v in self._judged.predicted(prediction).values() if v.word == "fail")

    def _rereads(self, chosen: Option | None) -> tuple[Reread, ...]:
        air = self._outlook.air
        if air is None:
            return ()
        first = measure_first(chosen, air.readings_of_pieces()) if chosen else ()
        return (*conflicting(air.calibration, self._policy), *first)

    def _decisive(
        self, verdicts: Mapping[tuple[str, str, str], Verdict], facts: Facts, outcome: Outcome, settled: Settled
    ) -> tuple[Decisive, ...]:
        found = []
        for key, verdict in verdicts.items():
            if verdict.word != "close" or verdict.time == "test-out":
                continue
            led = self._e._concluding.would_lead(facts, outcome.atoms, key, ("pass", "fail"))
            lines = tuple(sorted(f"{a.name}@{a.key}" for a in led if self._could_stand(a.name, a.key, settled)))
            if lines:
                found.append(Decisive(verdict, lines))
        return tuple(sorted(found, key=lambda d: (-len(d.lines), d.verdict.id)))

    def _could_stand(self, task: str, place: str, settled: Settled) -> bool:
        """A retest for a line that another vote declines anyway would change nothing."""
        line = settled.lines.get(f"{task}@{place}")
        if line is not None:
            return False
        trial = settle(
            [*settled.declines.values(), _trial(task, self._subjects[place])],
            self._policy.tasks,
            self._subjects,
            frozenset(),
        )
        return trial.lines[f"{task}@{place}"].state == "scoped"


def _trial(task: str, place: Subject) -> Vote:
    return Vote("", place.key, place.kind, place.key, "practice", Then("line", task, tier="optional"), 0)


def _ids(settled: Settled) -> list[str]:
    return [line.id for line in settled.active()]
