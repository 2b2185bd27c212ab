"""Past jobs under two policies: the whole of it, from stored jobs to what is told."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import islice

from airwarrant.errors import PolicyError, RecordError
from airwarrant.policy.model import Policy
from airwarrant.replay.answer import Answer
from airwarrant.replay.compare_jobs import Asked, Done
from airwarrant.replay.facts import outcome_in
from airwarrant.replay.followed import Looser
from airwarrant.replay.journal import Journal
from airwarrant.replay.kept_facts import KeptFacts
from airwarrant.replay.loosened import loosened
from airwarrant.replay.outcome import Outcome
from airwarrant.replay.pool import Runner
from airwarrant.replay.reach import Reach, told
from airwarrant.replay.refused import Refused, refused
from airwarrant.replay.sides import Policies, policies
from airwarrant.replay.stored import Head, Job, Stored
from airwarrant.replay.summary import Summary
from airwarrant.replay.trees import Trees

#: Jobs that are decided from their facts at once.
_AT_ONCE = 2048


@dataclass(frozen=True, slots=True)
class Told:
    """What a replay comes to.

    Attributes
    ----------
    a, b : str
        The two policies, as they were named.
    jobs : int
    summary : Summary
    loosened : tuple of str
        What of safety the second policy holds looser, or does not show to be as strict, each as a sentence; any is a failure.
    unclear : tuple of str
        What else safety rests on and is changed, where nobody can tell whether it is looser, and what makes adopted law act in fewer
        cases; no failure by itself.
    titles : mapping of (str, str) to str
        Of tasks and checks, by ``task`` or ``check`` and the name, as far as the policies were at hand here.
    trees : tuple of Trees
        Of the jobs that moved most, in their order.
    refused : tuple of Refused
        Policies that do not compose for some of the jobs, where each job has its own: a wrong input.
    """

    a: str
    b: str
    jobs: int
    summary: Summary
    loosened: tuple[str, ...]
    trees: tuple[Trees, ...]
    unclear: tuple[str, ...] = ()
    titles: Mapping[tuple[str, str], str] = field(default_factory=dict)
    refused: tuple[Refused, ...] = ()

    @property
    def safe(self) -> bool:
        """Whether no safety value is loosened and no job loses what safety asks for; where no job could be evaluated nobody knows."""
        unknown = self.jobs > 0 and self.summary.sorts["failed"] == self.jobs
        return not unknown and not self.loosened and not self.summary.safety_lost


def replay(
    stored: Stored,
    asked: Asked,
    runner: Runner,
    *,
    journal: Journal | None = None,
    facts: KeptFacts | None = None,
    progress: Callable[[int], object] = lambda done: None,
    trees: bool = True,
) -> Told:
    """Compare stored jobs under two policies.

    Parameters
    ----------
    stored : Stored
    asked : Asked
        Both policies.
    runner : Runner
        Where the jobs are evaluated.
    journal : Journal or None
        Holds what an earlier run finished, and is told what this one does.
    facts : KeptFacts or None
        Facts of earlier evaluations; is told those that are made.
    progress : callable of int
        Told how many jobs are done.
    trees : bool
        Whether the reason trees of the jobs that moved most are made.

    Raises
    ------
    PolicyError
        If one of the policies does not compose, before a job is touched.
    """
    sides = policies(asked.a, asked.b)
    try:
        return _Replay(stored, asked, runner, sides, journal, facts, progress).run(trees)
    finally:
        for one in sides:
            one.close()


class _Replay:
    def __init__(
        self,
        stored: Stored,
        asked: Asked,
        runner: Runner,
        sides: tuple[Policies, Policies],
        journal: Journal | None,
        facts: KeptFacts | None,
        progress: Callable[[int], object],
    ) -> None:
        self._stored, self._asked, self._runner, self._sides = stored, asked, runner, sides
        self._journal, self._facts, self._progress = journal, facts, progress
        self._summary = Summary()
        self._on_the_way: dict[str, tuple[Head, str]] = {}
        self._most: dict[str, Head] = {}
        #: of the jobs that were not evaluated, the first of each reason
        self._failed: dict[str, Head] = {}
        self._reach: dict[str, Reach] = {}
        self._markets: dict[str, str] = {}
        self._titles: dict[tuple[str, str], str] = {}
        #: what of safety is looser in a market, as jobs of it came
        self._looser: dict[Looser, None] = {}

    def run(self, trees: bool) -> Told:
        looser: tuple[Looser, ...] = ()
        if self._asked.a.address.fixed and self._asked.b.address.fixed:
            pair = self._sides[0].policy(), self._sides[1].policy()
            looser = loosened(*pair)
            self._titles |= _titles(*pair)
        for done in self._runner.compare(self._open()):
            head, key = self._on_the_way.pop(done.answer.job)
            if self._journal is not None:
                self._journal.add(key, done)
            if self._facts is not None and done.facts is not None:
                self._facts.add(key, done.facts)
            self._add(head, done)
        self._title_markets()
        most = self._summary.most
        asked = [(self._most[one.job].job(), one) for one in most] if trees else []
        said = looser or tuple(self._looser)
        return Told(
            self._asked.a.name,
            self._asked.b.name,
            self._summary.jobs,
            self._summary,
            tuple(one.said for one in said if one.fails),
            tuple(self._runner.trees(asked)) if asked else (),
            tuple(one.said for one in said if not one.fails),
            self._titles,
            tuple(refused(self._failed, zip((self._asked.a.name, self._asked.b.name), self._sides, strict=True))),
        )

    def _title_markets(self) -> None:
        """Titles of markets that only workers have met; those of any day will do."""
        if self._titles:
            return
        for market in sorted(self._summary.markets):
            with suppress(PolicyError):  # nothing in force without a date: names stand in place of titles
                self._titles |= _titles(*(one.policy(market, {}) for one in self._sides))

    def _open(self) -> Iterator[Job]:
        """Jobs that have to be evaluated; what is finished or proved is counted on the way."""
        heads = self._stored.heads()
        while several := list(islice(heads, _AT_ONCE)):
            apart, facts = self._apart(several)
            for head, proved, kept in zip(several, apart, facts, strict=True):
                if proved is not None:
                    self._summary.proved(*proved)
                    self._progress(self._summary.jobs)
                    continue
                try:
                    key = head.key() if self._journal is not None or self._facts is not None else ""
                    known = self._journal.done.get((head.name, key)) if self._journal is not None else None
                    if known is not None:
                        self._add(head, known)
                        continue
                    job = head.job()
                except RecordError as error:
                    why = str(error).splitlines()[0]
                    self._add(head, Done(Answer(head.name, head.market, "failed", why=why)))
                    continue
                self._on_the_way[head.name] = (head, key)
                yield replace(job, facts=kept)

    def _add(self, head: Head, done: Done) -> None:
        self._looser |= {_in(done.answer.market, one): None for one in done.looser}
        if done.answer.sort == "failed":
            self._failed.setdefault(done.answer.why, head)
        if self._summary.add(done):
            self._most[head.name] = head
            if len(self._most) > 4 * len(self._summary.most):
                kept = {one.job for one in self._summary.most}
                self._most = {name: one for name, one in self._most.items() if name in kept}
        self._progress(self._summary.jobs)

    def _apart(self, heads: Sequence[Head]) -> tuple[list[tuple[str, Outcome] | None], list[bytes | None]]:
        """Market and outcome of each job that is proved to be the same by facts that were kept with it, and those facts.

        One whose facts do not hold what it came to goes to a worker, so that sums are of all jobs in the same way.
        """
        out: list[tuple[str, Outcome] | None] = [None] * len(heads)
        facts: list[bytes | None] = [None] * len(heads)
        if self._asked.everything:
            return out, facts
        together: dict[str, list[int]] = {}
        for at, head in enumerate(heads):
            pair = self._pair(head)
            if pair:
                together.setdefault(pair, []).append(at)
        for pair, places in together.items():
            reach = self._reach[pair]
            known = [self._facts_of(heads[at]) for at in places]
            for place, one in zip(places, known, strict=True):
                facts[place] = one
            if reach.everyone or not any(known):
                continue
            decided = reach.decide(known)
            self._summary.told(pair, tuple(map(told, reach.impacts)))
            held = 0
            for place, one, touched in zip(places, known, decided.tolist(), strict=True):
                outcome = None if touched or one is None else outcome_in(one, reach.layout)
                if outcome is not None:
                    out[place] = self._markets[pair], outcome
                    held += 1
            # Those that are evaluated are counted when they have been.
            self._summary.count(pair, held, {})
        return out, facts

    def _facts_of(self, head: Head) -> bytes | None:
        kept = head.facts()
        return self._facts.get(head.key()) if kept is None and self._facts is not None else kept

    def _pair(self, head: Head) -> str:
        """The pair of policies of a job, where they are known without reading its record; empty where not."""
        both = self._asked.a.address.fixed and self._asked.b.address.fixed
        if not both and not head.market:
            return ""
        try:
            a, b = (one.policy(head.market, head.dates) for one in self._sides)
        except PolicyError:
            return ""
        pair = f"{a.digest[:16]}:{b.digest[:16]}"
        if pair not in self._reach:
            self._reach[pair] = Reach(a, b)
            self._markets[pair] = b.market.name
            self._titles |= _titles(a, b)
            self._looser |= {_in(b.market.name, one): None for one in loosened(a, b)}
        return pair


def _in(market: str, one: Looser) -> Looser:
    return one._replace(what=f"{market}: {one.what}")


def _titles(a: Policy, b: Policy) -> dict[tuple[str, str], str]:
    out: dict[tuple[str, str], str] = {}
    for policy in (a, b):
        out |= {("task", name): task.title for name, task in policy.tasks.items()}
        out |= {("check", name): check.title for name, check in policy.checks.items()}
    return out
