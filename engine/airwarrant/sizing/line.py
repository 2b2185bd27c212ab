"""The sizes of one line: what policy says, what the physics says, which of them governs, and the proofs at the size chosen."""

from collections.abc import Iterator
from math import ceil, sqrt

from airwarrant.calculations.verdict import compare
from airwarrant.policy.model import Policy, Proof, Ref, Size, Task
from airwarrant.rules.facts import Subject
from airwarrant.rules.judge import Judge
from airwarrant.rules.numbers import Number
from airwarrant.sizing.ask import Answered, ask
from airwarrant.sizing.sized import OneSize, Proved, Sized
from airwarrant.units import UNITS, convert

#: A size that fails its proofs is moved on at most so often; one that still fails then says so.
_STEPS = 40
#: Most equal ducts that one line is divided into.
_DUCTS = 6


def size_line(policy: Policy, task: Task, subject: Subject, judge: Judge) -> Sized | None:
    """Size the line of a task at a place.

    Parameters
    ----------
    policy : Policy
    task : Task
    subject : Subject
        The line's place.
    judge : Judge
        Its source answers the time ``predicted``: the new unit's numbers, and for readings the best that is known.

    Returns
    -------
    Sized or None
        None where policy sizes nothing.
    """
    if not task.sizes:
        return None
    judge.start()
    sizes = tuple(_Sizing(size, subject, judge).run() for size in task.sizes)
    return Sized(sizes, judge.reads)


class _Sizing:
    """One size under way."""

    def __init__(self, size: Size, subject: Subject, judge: Judge) -> None:
        self._size, self._subject, self._judge = size, subject, judge
        self._missing: list[str] = []

    def run(self) -> OneSize:
        size = self._size
        said = self._number(size.value) if size.value else None
        answered = self._answer()
        wanted, governed = self._governing(said, answered)
        if wanted is None:
            return OneSize(size, None, said=said, answered=answered, missing=tuple(dict.fromkeys(self._missing)))
        most = self._most()
        value, count, proofs, short = self._fit(self._stepped(wanted), most)
        if short:
            governed = "room"
        elif count > 1:
            governed = "several"
        elif value > self._stepped(wanted):
            governed = "proof"
        return OneSize(size, value, count, said, answered, governed, proofs, short, tuple(dict.fromkeys(self._missing)))

    def _number(self, ref: Ref) -> Number | None:
        before = len(self._judge.missing)
        found = self._judge.number(ref, self._subject, "predicted")
        if found is None:
            self._missing += [f"not known: {one}" for one in self._judge.missing[before:] or (ref.name,)]
        return found

    def _answer(self) -> Answered | None:
        if self._size.asked is None:
            return None
        answered = ask(self._size.asked, self._number)
        if isinstance(answered, Answered):
            return answered
        self._missing.append(answered)
        return None

    def _governing(self, said: Number | None, answered: Answered | None) -> tuple[float | None, str]:
        """The value that governs, in the size's unit, and where it comes from; of two, the one that is there."""
        unit = self._size.unit
        values = {}
        if said is not None:
            values["table"] = convert(said.value, said.unit, unit)
        if answered is not None:
            values["calculation"] = convert(answered.value, answered.asked.unit, unit)
        if not values:
            return None, ""
        if self._size.governs in values:
            return values[self._size.governs], self._size.governs
        pick = min if self._size.governs == "smaller" else max
        source = pick(values, key=lambda name: values[name])
        return values[source], source

    def _most(self) -> float | None:
        if self._size.most is None:
            return None
        most = self._number(self._size.most)
        return None if most is None else convert(most.value, most.unit, self._size.unit)

    def _step(self) -> float:
        step = self._number(self._size.step) if self._size.step else None
        return convert(step.value, step.unit, self._size.unit) if step else 0.0

    def _stepped(self, value: float) -> float:
        """The value, or the next whole step up."""
        step = self._step()
        return ceil(value / step - 1e-9) * step if step else value

    def _fit(self, wanted: float, most: float | None) -> tuple[float, int, tuple[Proved, ...], bool]:
        """Value of each, how many, the proofs there, and whether it is less than is needed."""
        fitting = None
        for count in range(1, _DUCTS + 1) if self._size.past_most == "several" else (1,):
            for value in self._candidates(wanted, count, most):
                proofs = self._prove(value, count)
                fitting = (value, count, proofs, True)
                if not any(proved.proof.next_size and proved.word == "fail" for proved in proofs):
                    return value, count, proofs, False
        if fitting is None:
            value = wanted if most is None else most
            return value, 1, self._prove(value, 1), True
        value, count, proofs, _ = fitting
        return value, count, proofs, most is not None

    def _candidates(self, wanted: float, count: int, most: float | None) -> Iterator[float]:
        """Sizes to try, smallest first: equal ones whose areas add up to that of the one that is wanted."""
        across = UNITS[self._size.unit].dimension == "length"
        value = wanted if count == 1 else self._stepped(wanted / (sqrt(count) if across else count))
        step = self._step()
        for _ in range(_STEPS):
            if most is not None and value > most * (1.0 + 1e-9):
                return
            yield value
            if not step:
                return
            value += step

    def _prove(self, value: float, count: int) -> tuple[Proved, ...]:
        return tuple(self._proved(proof, value, count) for proof in self._size.proofs)

    def _proved(self, proof: Proof, value: float, count: int) -> Proved:
        chosen = Number("size", self._size.title, value, self._size.unit)

        def look_up(ref: Ref) -> Number | None:
            return chosen if ref.form == "given" else self._number(ref)

        answered = ask(proof.asked, look_up, count)
        if not isinstance(answered, Answered):
            self._missing.append(answered)
            return Proved(proof, None, None, "unmeasured" if proof.must_be else "")
        limit = self._number(proof.limit) if proof.limit else None
        return Proved(proof, answered, limit, proof_word(proof, answered, limit))


def proof_word(proof: Proof, answered: Answered, limit: Number | None) -> str:
    """The word of a proof; empty where nothing is judged."""
    if proof.must_be is None:
        return ""
    if limit is None:
        return "unmeasured"
    unit = proof.asked.unit
    bound = convert(limit.value, limit.unit, unit)
    return compare(answered.value, bound, proof.must_be, 0.0, unit, "ignore")
