"""Differences that are meant between markets: what each comes to, the policy value that makes it, and the proof by changing that value.

``scenarios/regions/differences.toml`` says each in a sentence. What it comes to and what the value is, with its layer and source,
is derived here: from the result's trace where a check read the value, else from the policy the result was evaluated under.
"""

import tomllib
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import tomli_w

from airwarrant.errors import PolicyError
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.policy.history import find
from airwarrant.policy.model import Policy
from airwarrant.session import Session
from jobs import POLICIES, data, item
from scenarios.outcomes import FOLDER, NOT_THERE, looked_up, outcome

FILE = FOLDER / "differences.toml"

#: Keys of a block that are not its value.
_ABOUT = {"title", "note", "edit", "safer", "review_by", "choices"}


@dataclass(frozen=True)
class Side:
    """A market, what the job comes to there, and what the reason's values are there."""

    market: str
    comes_to: str
    holds: tuple[str, ...]


@dataclass(frozen=True)
class Difference:
    """One difference of the file."""

    says: str
    job: str
    look: str
    because: tuple[str, ...]
    change: Mapping[str, Any]
    here: Side
    there: Side

    @property
    def id(self) -> str:
        """Its name in a test report."""
        return f"{self.job} {self.look}: {self.here.market}, {self.there.market}"

    @property
    def record(self) -> JobRecord:
        """The job, with what the difference changes of it."""
        record = data(self.job)
        for path, value in self.change.items():
            *block, field = path.split(".")
            (item(record, *block) if len(block) == 2 else record[block[0]])[field] = value
        return parse_job(tomli_w.dumps(deepcopy(record)).encode(), "job.toml")


def differences() -> Iterator[Difference]:
    """The differences on file."""
    for one in tomllib.loads(FILE.read_text())["difference"]:
        sides = (
            Side(side["market"], side.get("comes_to", ""), tuple(side.get("holds", ())))
            for side in (one["here"], one["there"])
        )
        yield Difference(one["says"], one["job"], one["look"], tuple(one["because"]), one.get("change", {}), *sides)


class Evaluations:
    """Evaluates a record under a market once, however many differences look at it."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._results: dict[tuple[str, str], dict[str, Any]] = {}

    def result(self, record: JobRecord, market: str) -> dict[str, Any]:
        """The result document of a record under a market."""
        key = (record.digest, market)
        if key not in self._results:
            self._results[key] = self._session.evaluate(record, market=market)
        return self._results[key]

    def policy(self, record: JobRecord, market: str) -> Policy:
        """The policy it is evaluated under."""
        return self._session.evaluator(replace(record, market=market)).policy


def found(evaluations: Evaluations, difference: Difference, side: Side) -> Side:
    """The side as the program has it."""
    record = difference.record
    result, policy = evaluations.result(record, side.market), evaluations.policy(record, side.market)
    holds = tuple(reason(result, policy, name) for name in difference.because)
    return Side(side.market, looked(result, difference.look), holds)


def title(policy: Policy, name: str) -> str:
    """What a value is, in the words of policy."""
    if name.startswith("said:"):
        return "what the homeowner is told"
    try:
        _, block = find(policy, name)
    except PolicyError:
        return ""
    return str(block.keys["title"].value) if block is not None else ""


def looked(result: Mapping[str, Any], look: str) -> str:
    """What a difference looks at: a text of the outcome, or what a caution says."""
    section, _, entry = look.partition(" / ")
    if section == "said":
        return next((str(one["said"]) for one in result["cautions"] if one["name"] == entry), NOT_THERE)
    return looked_up(outcome(result), section, entry)


def reason(result: Mapping[str, Any], policy: Policy, name: str) -> str:
    """A value as it stands: how much, by which layer, after which source; of a rule, that it is there; else whose it is."""
    bare = name.rpartition(":")[2]
    if name.startswith("rule:"):
        rule = policy.rules.get(bare)
        return "no such rule" if rule is None else f"{rule.layer}: {rule.title}"
    if name.startswith("said:"):
        return policy.said[bare]["en"].layer
    _, block = find(policy, name)
    assert block is not None
    if name.startswith("task:"):
        return block.keys["size"].layer
    traced = result["trace"]["policy"].get(bare)
    held = next(block.keys[key] for key in ("value", "rows", "cost") if key in block.keys)
    if traced is not None:
        assert traced["layer"] == held.layer, "trace and policy disagree"
    return f"{_value(block.keys)}: {held.layer}, {_source(block.keys['basis'].value if 'basis' in block.keys else {})}"


def _value(keys: Mapping[str, Any]) -> str:
    unit = keys["unit"].value if "unit" in keys else ""
    if "rows" in keys:
        rows, by = keys["rows"].value, keys["by_unit"].value if "by_unit" in keys else ""
        if len(rows) == 1:
            return f"{rows[0][1]:g} {unit}"
        return ", ".join(f"{answer:g} {unit} from {key:g} {by}" for key, answer in rows)
    months = keys["months"].value if "months" in keys else []
    only = f" in months {months[0]} to {months[-1]}" if months else ""
    value = keys["value"].value
    return f"{value:g}{'' if unit in ('', '1') else f' {unit}'}{only}"


def _source(basis: Mapping[str, Any]) -> str:
    kind = str(basis.get("kind", "demo")).replace("-", " ")
    source = f"{basis['cite']}, {basis['edition']}" if kind == "published" else kind
    return f"{source}, unconfirmed" if basis.get("unconfirmed") else source


def taken_over(evaluations: Evaluations, folder: Path, difference: Difference) -> str:
    """What the job comes to here once this market's policy takes over the reason, and nothing else, from there."""
    record = difference.record
    market = tomllib.loads((POLICIES / "markets" / f"{difference.here.market}.toml").read_text())
    here, there = (evaluations.policy(record, side.market) for side in (difference.here, difference.there))
    layers: list[str] = market["market"]["layers"]
    blocks: dict[str, Any] = {}
    for name in difference.because:
        if name.startswith(("rule:", "task:")):
            _insert(layers, _layer_of(here, there, name))
        elif name.startswith("said:"):
            bare = name.partition(":")[2]
            blocks.setdefault("said", {})[bare] = {key: one.value for key, one in there.said[bare].items()}
        else:
            section, block = find(there, name)
            _, before = find(here, name)
            assert block is not None
            assert before is not None
            was = {key: one.value for key, one in before.keys.items()}
            moved = {
                key: one.value for key, one in block.keys.items() if key not in _ABOUT and one.value != was.get(key)
            }
            blocks.setdefault(section, {})[block.name] = moved
    if blocks:
        layers.append("companies/trial")
        path = folder / "companies" / "trial" / "2026-01-01" / "trial.toml"
        path.parent.mkdir(parents=True)
        head = {"policy": {"title": "Trial", "review_by": "2027-01-01"}}
        path.write_text(tomli_w.dumps(head | blocks).replace('"2027-01-01"', "2027-01-01"))
    (folder / "markets").mkdir(parents=True)
    (folder / "markets" / "trial.toml").write_text(tomli_w.dumps(market))
    with Session([folder, POLICIES]) as trial:
        return looked(trial.evaluate(record, market="trial"), difference.look)


def _layer_of(here: Policy, there: Policy, name: str) -> str:
    """The layer that brings a rule or the sizes of a task there, or that takes the rule out."""
    kind, _, bare = name.partition(":")
    if kind == "task":
        return there.tasks[bare].keys["size"].layer
    if bare in there.rules:
        return there.rules[bare].layer
    only = [layer for layer, _ in there.layers if layer not in dict(here.layers)]
    files = [(layer, path.read_text()) for layer in only for path in (POLICIES / layer).glob("*/*.toml")]
    (removing,) = (layer for layer, text in files if f'name = "{name}"' in text)
    return removing


def _insert(layers: list[str], layer: str) -> None:
    """Codes stand after the region and before the company."""
    if layer not in layers:
        layers.insert(next(n for n, one in enumerate(layers) if one.startswith("companies/")), layer)
