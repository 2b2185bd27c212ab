"""The facts of one evaluation, as they are kept: a stamp and one fixed record."""

import json
from collections.abc import Collection, Iterable, Iterator
from math import hypot, inf
from types import TracebackType
from typing import Any, Self
from zlib import compress, decompress

import numpy as np
import numpy.typing as npt

from airwarrant.evaluate import Evaluator
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.pricing.line import Worked
from airwarrant.replay.layout import Key, Layout, word_bit
from airwarrant.replay.outcome import Outcome, outcome_from, outcome_of
from airwarrant.rules.prepared import BAND_FACTOR
from airwarrant.rules.seen import Seen
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Run
from airwarrant.units import UNITS, convert

#: Value, limit and band are each rounded to the unit's decimals before they are compared: an edge is not known closer than this many
#: last digits, and what lies nearer counts as moved.
_SLACK = 2.0
#: Bytes in which what the evaluation came to stands behind the facts; one that needs more is evaluated again where it is wanted.
_CELL = 1024

Facts = npt.NDArray[np.void]


def facts_of(run: Run, seen: Seen, layout: Layout, asked: Collection[str] | None = None) -> bytes:
    """Return the facts of an evaluation that was watched by `seen`, as bytes of one length for each policy.

    Behind the stamp and the record stands what the evaluation came to, as far as it is compared.

    Parameters
    ----------
    asked : collection of str or None
        The checks that will be asked about, where the facts are not kept: no other check stands in them, nor what it came to.
    """
    record = np.zeros(1, layout.dtype)
    bits = bytearray(record["bits"].nbytes)
    for key in _bits(run, seen):
        at = layout.bits[key]
        bits[at >> 3] |= 1 << (at & 7)
    record["bits"][0] = np.frombuffer(bits, np.uint8)
    free = np.empty((len(layout.checks), 4))
    free[:] = (-inf, inf, 0.0, inf)
    words: dict[str, int] = {}
    told = seen.verdicts if asked is None else [verdict for verdict in seen.verdicts if verdict.check in asked]
    once = {id(verdict): verdict for verdict in told}
    factor = run.policy.parameters[BAND_FACTOR]
    times = convert(float(factor.value), factor.unit, "1")
    for verdict in once.values():
        words[verdict.check] = words.get(verdict.check, 0) | 1 << word_bit(verdict.time, verdict.word)
        if verdict.limit is not None and verdict.reading is not None:
            _narrow(free[layout.checks[verdict.check]], verdict, run.policy.checks[verdict.check].doubt, times)
    for check, given in words.items():
        record["words"][0, layout.checks[check]] = given
    record["free"][0] = _inward(free)
    return layout.stamp + record.tobytes() + (_cell(outcome_of(run)) if asked is None else bytes(_CELL))


def outcome_in(facts: bytes, layout: Layout) -> Outcome | None:
    """Return what the evaluation of these facts came to; None where they are of another policy or program, or it did not fit."""
    start = len(layout.stamp) + layout.dtype.itemsize
    if len(facts) != start + _CELL or facts[: len(layout.stamp)] != layout.stamp:
        return None
    size = int.from_bytes(facts[start : start + 2], "little")
    return outcome_from(json.loads(decompress(facts[start + 2 : start + 2 + size]))) if size else None


def _cell(outcome: Outcome) -> bytes:
    packed = compress(json.dumps(outcome.as_json(), separators=(",", ":")).encode())
    fits = len(packed) + 2 <= _CELL
    return (len(packed).to_bytes(2, "little") + packed if fits else b"").ljust(_CELL, b"\0")


def read_facts(several: Iterable[bytes | None], layout: Layout) -> tuple[Facts, npt.NDArray[np.bool_]]:
    """Return facts as one array, and which of them are known: of this policy, program and format, and whole."""
    start, end = len(layout.stamp), len(layout.stamp) + layout.dtype.itemsize
    parts, known = [], []
    blank = bytes(layout.dtype.itemsize)
    for one in several:
        good = one is not None and len(one) == end + _CELL and one[:start] == layout.stamp
        parts.append(one[start:end] if one is not None and good else blank)
        known.append(good)
    return np.frombuffer(b"".join(parts), layout.dtype), np.array(known, bool)


def _bits(run: Run, seen: Seen) -> Iterator[Key]:
    for read in seen.reads:
        yield ("read", *read)
    for rule in seen.rules:
        yield ("rule", rule)
    yield from seen.atoms
    for kind in seen.kinds:
        yield ("kind", kind)
    for line in run.settled.active():
        yield ("scoped", line.task)
    if run.prices is None:
        return
    whole = run.prices.total()
    works = [priced.worked for priced in run.prices.scope.values()] + [charged.worked for charged in whole.charges]
    if whole.unpriced:
        yield ("unpriced",)
    for worked in works:
        if worked is not None:
            yield from _bought(worked)


def _bought(worked: Worked) -> Iterator[Key]:
    yield ("crew", worked.crew.name)
    for multiplied in worked.factors:
        yield ("factor", multiplied.factor.name)
    for bought in worked.bought:
        yield ("item", bought.item.name)


def _narrow(free: Any, verdict: Verdict, doubt: str, times: float) -> None:
    """Narrow how far a limit may move to what leaves this verdict its word.

    A word changes where the limit passes the value, or the value less or more than its band. Where several limits were there to
    choose from, the chosen one moves no further than the one that is changed, and its band is one of theirs.
    """
    reading, limit = verdict.reading, verdict.limit
    if reading is None or limit is None:
        return
    unit = UNITS[reading.unit]
    slack = _SLACK * 10.0**-unit.decimals
    bands = (
        {0.0}
        if doubt == "ignore"
        else {times * hypot(reading.plus_minus, one.plus_minus) for one in verdict.considered}
    )
    positive = all(one.value > 0.0 for one in verdict.considered)
    # A limit with a ± of its own that is multiplied has it multiplied too.
    scaled = any(one.plus_minus > 0.0 for one in verdict.considered)
    if not positive:
        free[2], free[3] = 1.0, 1.0
    for sign, band in {(sign, band) for band in bands for sign in (-1.0, 1.0)}:
        edge = reading.value + sign * band
        away = edge - limit.value
        # Limit and band reach the value from below together: value / (limit + band) lies between 1 and that point on either side.
        top, bottom = (reading.value, limit.value + band) if sign < 0.0 and scaled else (edge, limit.value)
        if abs(away) <= slack:
            free[:] = (0.0, 0.0, 1.0, 1.0)
        elif away > 0.0:
            free[1] = min(free[1], (away - slack) * unit.factor)
            if positive:
                free[3] = min(free[3], (top - slack) / bottom)
        else:
            free[0] = max(free[0], (away + slack) * unit.factor)
            if positive:
                free[2] = max(free[2], (top + slack) / bottom)


def _inward(free: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
    """Single precision, each bound rounded towards no change at all."""
    rest = np.array((0.0, 0.0, 1.0, 1.0))
    short = free.astype(np.float32)
    outside = np.abs(short.astype(np.float64) - rest) > np.abs(free - rest)
    return np.where(outside, np.nextafter(short, rest.astype(np.float32)), short)


class FactsMaker:
    """Makes the facts of jobs as they are kept, engines built once for each policy; a context manager.

    Only what decides is evaluated: what is merely shown would make the facts speak of scopes that nobody compares.
    """

    def __init__(self) -> None:
        self._made: dict[str, tuple[Evaluator, Layout]] = {}

    def of(self, policy: Policy, record: JobRecord) -> bytes:
        """Evaluate a record and return its facts; raises as `Evaluator.run` does."""
        if policy.digest not in self._made:
            self._made[policy.digest] = (Evaluator(policy, detail=False, rereads=False), Layout(policy))
        evaluator, layout = self._made[policy.digest]
        seen = Seen()
        return facts_of(evaluator.run(record, seen=seen), seen, layout)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for evaluator, _ in self._made.values():
            evaluator.close()
        self._made.clear()
