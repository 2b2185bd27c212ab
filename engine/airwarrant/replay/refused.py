"""Policies that do not compose for jobs of a replay: a wrong input, however few jobs it hits."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from airwarrant.errors import AirwarrantError, Fault, PolicyError
from airwarrant.replay.past_records import read_past
from airwarrant.replay.sides import Policies
from airwarrant.replay.stored import Head


@dataclass(frozen=True, slots=True)
class Refused:
    """A side that has no policy for some jobs.

    Attributes
    ----------
    why : str
        What is said of those jobs.
    sides : tuple of str
        As they were named; both, where neither has one.
    faults : tuple of str
        All that is wrong there, each once.
    """

    why: str
    sides: tuple[str, ...]
    faults: tuple[str, ...]


def refused(failed: Mapping[str, Head], named: Iterable[tuple[str, Policies]]) -> Iterator[Refused]:
    """Yield what of the jobs that were not evaluated, one of each reason, is the policy's fault; the rest is the record's."""
    sides = tuple(named)
    for why, head in failed.items():
        try:
            job = head.job()
            record = read_past(job.text, job.file)
        except AirwarrantError:
            continue
        wrong: dict[str, tuple[Fault, ...]] = {}
        for name, policies in sides:
            try:
                policies.policy(job.market or record.market, record.dates)
            except PolicyError as error:
                wrong[name] = error.faults
            except AirwarrantError:
                continue
        if wrong and not _nowhere(wrong, len(sides)):
            yield Refused(why, tuple(wrong), tuple(dict.fromkeys(str(one) for held in wrong.values() for one in held)))


def _nowhere(wrong: Mapping[str, tuple[Fault, ...]], sides: int) -> bool:
    """Whether the record names a market that neither side knows: then the record is wrong."""
    return len(wrong) == sides and all(one.code == "unknown-market" for held in wrong.values() for one in held)
