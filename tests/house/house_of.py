"""Records as plain data made into houses ready for prediction, under the policy of their market; and ways to change a record."""

import tomllib
from collections.abc import Collection, Mapping
from copy import deepcopy
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import tomli_w

from airwarrant.assumed import assumptions_of
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.calibrate import House
from airwarrant.house.changes import gather_assumptions
from airwarrant.house.predict import REGISTERS, Network, Prediction, prepare
from airwarrant.house.room_targets import room_targets
from airwarrant.house.work import Work
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.policy.compose import compose
from airwarrant.units import UNITS

ROOT = Path(__file__).resolve().parents[2]
JOBS = ("1042", "4471", "5560", "2718", "3390")
CFM, INCHES = UNITS["cfm"].factor, UNITS["in. w.c."].factor

# Lines of job 1042 as the predictor sees them.
ELBOW = Work("widen-elbow", "roof-elbow")
RETURN = Work("add-return-path", "living-route", 18.0)
SEAL = Work("seal-ducts", "house")
BALANCE = (Work("balance", "house"), Work("damper", "bed-3"), Work("damper", "bath"))
HELD = [
    [0.2, 1300],
    [0.3, 1300],
    [0.4, 1300],
    [0.5, 1300],
    [0.6, 1300],
    [0.7, 1300],
    [0.8, 1220],
    [0.9, 1100],
    [1.0, 950],
]


def data(job: str) -> dict[str, Any]:
    """The record of a demo job as plain data, to be changed."""
    return tomllib.loads((ROOT / f"scenarios/job-{job}.toml").read_text())


def item(block: Mapping[str, Any], kind: str, key: str) -> dict[str, Any]:
    """An item of the record, or of a visit."""
    return next(one for one in block[kind] if one["id"] == key)


def without(block: dict[str, Any], *names: str) -> dict[str, Any]:
    """Take keys out of a block, where they are there."""
    for name in names:
        block.pop(name, None)
    return block


def record(plain: Mapping[str, Any]) -> JobRecord:
    """The record that plain data writes."""
    return parse_job(tomli_w.dumps(deepcopy(dict(plain))).encode(), "job.toml")


@cache
def assumptions(market: str = "copper-basin") -> Assumptions:
    """What the air model takes from the shipped policy of a market."""
    dates = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
    return assumptions_of(compose(ROOT / "policies", market, dates))


def targets(job: JobRecord) -> dict[str, float]:
    """Design airflow of each room [m3/s]."""
    return {room: one.flow.value * CFM for room, one in room_targets(job, assumptions(job.market)).items()}


def network_or_none(plain: Mapping[str, Any]) -> Network | None:
    """A house made ready, or None where it cannot be predicted."""
    job = record(plain)
    return prepare(job, assumptions(job.market), targets(job))


def network(plain: Mapping[str, Any]) -> Network:
    """A house made ready."""
    made = network_or_none(plain)
    assert made is not None
    return made


def house(plain: Mapping[str, Any]) -> House:
    """A house whose inputs are gathered, those of the work with them."""
    job = record(plain)
    made = House.of(job, assumptions(job.market))
    assert made is not None
    gather_assumptions(made.inputs, made.assumptions)
    return made


@cache
def demo(job: str) -> Network:
    """A demo job made ready; nobody changes it."""
    return network(data(job))


def after(job: Network, setting: str, *work: Work) -> Prediction:
    """The prediction of some work at a setting of the new blower."""
    found = job.predict(work, setting)
    assert found is not None
    return found


def value(prediction: Prediction, name: str, key: str = "house") -> float:
    """A predicted reading in the unit it is shown in."""
    return prediction.readings[key, name].value


def gain(job: Network, setting: str, *work: Work, base: Collection[Work] = ()) -> float:
    """What some work adds at the registers [cfm]."""
    whole, rest = after(job, setting, *work), after(job, setting, *base)
    return whole.readings[REGISTERS].value - rest.readings[REGISTERS].value
