"""What stands beside the rows of a policy table: the physics of each row, calculated where an owner looks at the table."""

from dataclasses import dataclass

from airwarrant.policy.model import Policy, Proof, Ref, Table
from airwarrant.rules.numbers import Number
from airwarrant.sizing.ask import Answered, ask
from airwarrant.sizing.line import proof_word


@dataclass(frozen=True, slots=True)
class Beside:
    """One calculation at one row.

    Attributes
    ----------
    key, by_unit, answer, unit
        The row and its units.
    title : str
    shown : tuple of (str, str, float, str)
        Key, name, value and unit of each output shown; the first is the one that is judged.
    word, must_be, limit
        How it is judged; the word is empty where it is not.
    valid : bool
        False outside the formula's valid range; `warnings` says why.
    problem : str
        Why there is no answer.
    """

    key: float
    by_unit: str
    answer: float
    unit: str
    title: str
    shown: tuple[tuple[str, str, float, str], ...] = ()
    word: str = ""
    limit: Number | None = None
    must_be: str = ""
    valid: bool = True
    warnings: tuple[str, ...] = ()
    problem: str = ""


def beside(policy: Policy, table: Table) -> tuple[Beside, ...]:
    """Return what is calculated beside each row of a table, row by row."""
    return tuple(
        _beside(policy, table, proof, float(key), answer)
        for key, answer in table.rows
        if not isinstance(key, str)
        for proof in table.beside
    )


def _beside(policy: Policy, table: Table, proof: Proof, key: float, answer: float) -> Beside:
    given = {
        "key": Number("table", "key", key, table.by_unit),
        "answer": Number("table", "answer", answer, table.unit),
    }

    def look_up(ref: Ref) -> Number | None:
        if ref.form == "given":
            return given[ref.name]
        if ref.form == "quantity":
            return Number("quantity", ref.name, ref.value, ref.unit)
        parameter = policy.parameters[ref.name]
        return Number("parameter", ref.name, float(parameter.value), parameter.unit)

    row = (key, table.by_unit, answer, table.unit, proof.title)
    answered = ask(proof.asked, look_up)
    if not isinstance(answered, Answered):
        return Beside(*row, problem=answered)
    limit = look_up(proof.limit) if proof.limit else None
    names = dict.fromkeys((proof.asked.take, *proof.show))
    return Beside(
        *row,
        tuple((name, *answered.output(name)) for name in names),
        proof_word(proof, answered, limit),
        limit,
        proof.must_be or "",
        answered.done.valid,
        answered.done.warnings,
    )
