"""What one evaluation came to: the plain record of a run, from which the result file is written."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from airwarrant.house.calibration import Calibration
from airwarrant.house.path import AirPath
from airwarrant.house.predict import Prediction, Range
from airwarrant.house.room_targets import Target
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.pricing.job import Prices
from airwarrant.rules.engine import Outcome
from airwarrant.rules.facts import Subject
from airwarrant.rules.verdict import Verdict
from airwarrant.rules.walk import Walk
from airwarrant.scope.settle import Settled
from airwarrant.scope.votes import Vote
from airwarrant.sizing.sized import Sized

Ranges = Mapping[tuple[str, str], Range]


@dataclass(frozen=True, slots=True)
class Option:
    """Some lines at one fan setting: the prediction, and the acceptance checks it misses or comes close to.

    `ranges` come from the draws; empty where none were asked for.
    """

    setting: str
    prediction: Prediction
    verdicts: Mapping[tuple[str, str, str], Verdict]
    misses: tuple[str, ...]
    close: tuple[str, ...]
    ranges: Ranges = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Alternative:
    """A scope one line smaller or larger, with what its prerequisites take along.

    `kind` is ``smaller`` or ``larger``; `line` the line it is about; `lines` what is scoped; `option` its best fan setting.
    """

    kind: str
    line: str
    lines: tuple[str, ...]
    option: Option


@dataclass(frozen=True, slots=True)
class Step:
    """The scope as far as one line, in the order of work, at the chosen fan setting."""

    line: str
    prediction: Prediction


@dataclass(frozen=True, slots=True)
class Round:
    """One pass: what was scoped and held, at which setting it was then predicted."""

    number: int
    scoped: tuple[str, ...]
    held: tuple[str, ...]
    added: tuple[str, ...]
    setting: str


@dataclass(frozen=True, slots=True)
class Moved:
    """Predicted change of one reading, in its unit, with the ± of the change itself and the range of its draws."""

    value: float
    plus_minus: float
    unit: str
    low: float | None = None
    high: float | None = None


Change = Mapping[str, Moved]


@dataclass(frozen=True, slots=True)
class Effect:
    """Predicted changes of house readings by one line: with nothing else done, and if the scope is done without it."""

    alone: Change
    without: Change


@dataclass(frozen=True, slots=True)
class Reread:
    """A reading that the air network asks for before the offer.

    `why` is ``readings-disagree`` or ``read-this-drop``; `verdicts` are those it would decide.
    """

    reading: str
    subject: str
    why: str
    verdicts: tuple[str, ...]


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
    walked: Walk
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
    steps: tuple[Step, ...]
    alternatives: tuple[Alternative, ...]
    #: what calibrating the house's network came to, and the house as found by it; None without a prediction
    calibration: Calibration | None
    as_found: Prediction | None
    targets: Mapping[str, Target]
    decisive: tuple[Decisive, ...]
    rereads: tuple[Reread, ...]
    verified: bool
    #: the air path as found and as the scope leaves it; None without a prediction
    path_found: AirPath | None = None
    path_scope: AirPath | None = None
    #: None where the policy has no price book; no decision rests on a price
    prices: Prices | None = None
