"""Sizes of a task said back as sentences."""

from collections.abc import Iterable

from airwarrant.policy.model import Asked, Given, Policy, Proof, Ref, Size, Task
from airwarrant.policy.show import ref_text

_PAST_MOST = {
    "several": "beyond it several equal ones whose areas add up",
    "stop": "beyond it that size, said to be too little",
}


def task_sentence(policy: Policy, task: Task) -> str:
    """Say how the line of a task is sized; empty where nothing is sized."""
    return " ".join(_size(policy, size) for size in task.sizes)


def beside_sentence(policy: Policy, proofs: Iterable[Proof]) -> str:
    """Say what is calculated beside a table's rows; empty where nothing is."""
    return " ".join(f"Beside each row: {_proof(policy, proof)}." for proof in proofs)


def _size(policy: Policy, size: Size) -> str:
    policy_says = _ref(policy, size.value) if size.value else ""
    physics_says = _asked(policy, size.asked) if size.asked else ""
    if policy_says and physics_says:
        pair = f"{policy_says} and {physics_says}"
        source = {
            "larger": f"the larger of {pair}",
            "smaller": f"the smaller of {pair}",
            "table": f"{policy_says}, beside it {physics_says}",
            "calculation": f"{physics_says}, beside it {policy_says}",
        }[size.governs]
    else:
        source = policy_says or physics_says
    text = f"“{size.title}” is {source}"
    if size.step:
        text += f", in steps of {_ref(policy, size.step)}"
    if size.most:
        text += f", at most {_ref(policy, size.most)}, {_PAST_MOST[size.past_most]}"
    return ". ".join((text, *(f"Proof {_proof(policy, proof)}" for proof in size.proofs))) + "."


def _proof(policy: Policy, proof: Proof) -> str:
    text = f"“{proof.title}”: {_asked(policy, proof.asked)}"
    if proof.limit is not None:
        text += f" must be {proof.must_be} {_ref(policy, proof.limit)}"
    return text + (", else the next size" if proof.next_size else "")


def _asked(policy: Policy, asked: Asked) -> str:
    return f"{asked.take} of {asked.calculate} ({', '.join(_given(policy, one) for one in asked.given)})"


def _given(policy: Policy, given: Given) -> str:
    return f"{given.key} = {given.word or ' × '.join(_ref(policy, ref) for ref in given.refs)}"


def _ref(policy: Policy, ref: Ref) -> str:
    given = {"size": "the size", "key": "the row's key", "answer": "the row's answer"}
    if ref.form == "given":
        return given[ref.name]
    return f"{ref.value:g}" if ref.form == "quantity" and ref.unit == "1" else ref_text(policy, ref)
