"""The caution of a job that relies on adopted law which nobody has confirmed: whom to ask, and about what."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from airwarrant.policy.model import Named, Parameter, Policy, Rule, Table
from airwarrant.result.texts import Texts
from airwarrant.run import Run

#: Name of the caution and of its wording in policy.
CONFIRM = "confirm-with-authority"
_OTHERWISE = "Confirm with the local authority"


def unconfirmed_json(
    run: Run, words: Texts, lines: Iterable[Mapping[str, Any]], declined: Iterable[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return one caution that names every unconfirmed value of adopted law that a line, hold or decline rests on, or none.

    Parameters
    ----------
    run : Run
    words : Texts
    lines, declined : iterable of mapping
        As the result has them: each with its rule, and the ids of the verdicts behind it.
    """
    entries = [*lines, *declined]
    rules = [entry["rule"] for entry in entries if entry.get("rule")]
    rules += [hold["rule"] for entry in entries for hold in entry.get("held_by", ())]
    readings = {reading for entry in entries for reading in entry.get("readings", ())}
    read = {name for verdict in run.verdicts.values() if verdict.id in readings for name in verdict.reads}
    named = dict.fromkeys(block.name for block in _blocks(run.policy, sorted(read), rules) if _law_to_confirm(block))
    if not named:
        return []
    titles = {_block(run.policy, name).title: _place_of_law(run.policy, name) for name in named}
    firings = [walked for walked in run.walked if walked.fired and walked.rule in named]
    return [
        {
            "name": CONFIRM,
            "said": words.listing((CONFIRM,), titles, _OTHERWISE),
            "for": words.readers((CONFIRM,)),
            "authority": "code",
            "subjects": list(dict.fromkeys(walked.subject for walked in firings)) or ["house"],
            "firings": [f"{walked.rule}@{walked.subject}" for walked in firings],
        }
    ]


def _blocks(policy: Policy, values: Iterable[str], rules: Iterable[str]) -> Iterator[Named]:
    for name in values:
        block = policy.parameters.get(name) or policy.tables.get(name)
        if block is not None:
            yield block
    for name in rules:
        if name in policy.rules:
            yield policy.rules[name]


def _law_to_confirm(block: Named) -> bool:
    given = block.keys.get("basis")
    if given is None or not given.value.get("unconfirmed"):
        return False
    return "adopted" in given.value or given.layer.startswith("codes/")


def _block(policy: Policy, name: str) -> Parameter | Table | Rule:
    return policy.parameters.get(name) or policy.tables.get(name) or policy.rules[name]


def _place_of_law(policy: Policy, name: str) -> str:
    """Name of the code and its section, which a paper in another language can give as it is."""
    block = _block(policy, name)
    basis = block.keys["basis"].value
    return ", ".join(str(basis[key]) for key in ("cite", "edition") if basis.get(key))
