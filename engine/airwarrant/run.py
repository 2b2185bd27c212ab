"""What one evaluation came to: the plain record of a run, from which the result file is written."""

from collections.abc import Mapping
from dataclasses import dataclass

from airwarrant.house.predict import Prediction
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.rules.engine import Outcome
from airwarrant.rules.facts import Subject
from airwarrant.rules.judge import Verdict
from airwarrant.rules.walk import Walked
from airwarrant.scope.settle import Settled
from airwarrant.scope.votes import Vote
from airwarrant.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class Option:
    """The scope at one fan setting: its prediction and the acceptance checks it misses or comes close to."""

    setting: str
    prediction: Prediction
    verdicts: Mapping[tuple[str, str, str], Verdict]
    misses: tuple[str, ...]
    close: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Round:
    """One pass: what was scoped and held, at which setting it was then predicted."""

    number: int
    scoped: tuple[str, ...]
    held: tuple[str, ...]
    added: tuple[str, ...]
    setting: str


@dataclass(frozen=True, slots=True)
class Effect:
    """Predicted change in register flow (cfm) and external static (in. w.c.) of one line."""

    alone: tuple[float, float]
    without: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Decisive:
    """A close verdict that is the last thing between a rule and a line."""

    verdict: Verdict
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """Everything one evaluation came to; the result file is written from it and from nothing else."""

    record: JobRecord
    policy: Policy
    subjects: Mapping[str, Subject]
    verdicts: Mapping[tuple[str, str, str], Verdict]
    outcome: Outcome
    walked: tuple[Walked, ...]
    votes: tuple[Vote, ...]
    settled: Settled
    rounds: tuple[Round, ...]
    ended: str
    #: whether the rules have seen the prediction of this very scope; otherwise no offer may rest on it
    stands: bool
    sizes: Mapping[str, Sized]
    like_for_like: tuple[Option, ...]
    options: tuple[Option, ...]
    chosen: str
    effects: Mapping[str, Effect]
    decisive: tuple[Decisive, ...]
    verified: bool
