"""The smallest edit of one policy value that brings a line in, within the rights of who edits; and values that would do it and may not.

An edit is written as an owner would write it, a file of the market's last layer, and the whole policy is composed again with it: the
policy's own checks say whether it is allowed. Then the whole job is evaluated under it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from airwarrant.desks.flips import Job, fewest_steps, leaves, stands
from airwarrant.desks.policy_set_text import quoted
from airwarrant.desks.policy_texts import lay_out
from airwarrant.desks.ways import Way
from airwarrant.errors import AirFault, PolicyError
from airwarrant.evaluate import Evaluator
from airwarrant.policy.compose import compose
from airwarrant.policy.files import governing_date
from airwarrant.policy.model import Parameter, Policy, Table
from airwarrant.rules.prepared import BAND_FACTOR, Prepared
from airwarrant.source.place import Place
from airwarrant.units import UNITS

#: Values tried on the whole job for one line.
MOST_TRIED = 12
GAIN_FLOOR = "gain_floor"
_FOLDER, _FILE = "9999-12-31", "changed.toml"
_HEAD = '[policy]\ntitle = "One value otherwise"\nreview_by = 9999-12-31\n\n'


@dataclass(frozen=True, slots=True)
class PolicyEdit:
    """One value of the policy otherwise.

    Attributes
    ----------
    name, title : str
        Parameter or table.
    row : int or None
        Of a table: its row, from 0, and `at` what it is for.
    before, after : float
        In `unit`.
    edit : str
        Who may change it.
    place : Place
        Where the value stands.
    refused : str
        Why it may not be changed so; empty if it may.
    """

    name: str
    title: str
    row: int | None
    at: str
    before: float
    after: float
    unit: str
    edit: str
    place: Place
    refused: str = ""

    @property
    def share(self) -> float:
        return abs(self.after - self.before) / max(abs(self.after), abs(self.before), 1e-9)

    def text(self, policy: Policy) -> str:
        """The block that makes the change, as an owner writes it."""
        if self.row is None:
            return f"[parameter.{self.name}]\nvalue = {quoted(self.after)}\n"
        rows = [list(row) for row in policy.tables[self.name].rows]
        rows[self.row][1] = self.after
        return f"[table.{self.name}]\nrows = {quoted(rows)}\n"


def policy_edits(
    job: Job, task: str, place: str, files: Mapping[str, str]
) -> tuple[tuple[PolicyEdit, ...], tuple[PolicyEdit, ...]]:
    """Return the smallest edits of one value that bring a line in, and those that would and are not allowed; smallest first.

    Parameters
    ----------
    files : mapping
        Name and text of every file that the policy was composed from.
    """
    line = f"{task}@{place}"
    policy = job.run.policy
    found: dict[tuple[str, int | None, float], PolicyEdit] = {}
    for one in (*_of_ways(job, task, place), *_of_gain(job, line)):
        found.setdefault((one.name, one.row, one.after), one)
    allowed: list[PolicyEdit] = []
    refused: list[PolicyEdit] = []
    for one in sorted(found.values(), key=lambda edit: (edit.share, edit.name, edit.row or 0))[:MOST_TRIED]:
        if any((one.name, one.row) == (other.name, other.row) for other in (*allowed, *refused)):
            continue
        if not stands(_run(job, _with(policy, one)), line):
            continue
        try:
            composed = applied(job, files, one)
        except PolicyError as error:
            fault = error.faults[0]
            refused.append(replace(one, refused=f"{fault.found}; allowed: {fault.allowed}"))
            continue
        if stands(_run(job, composed), line):
            allowed.append(one)
            break
    return tuple(allowed), tuple(refused)


def applied(job: Job, files: Mapping[str, str], edit: PolicyEdit) -> Policy:
    """Compose the policy with an edit in a file of its own, in the market's last layer.

    Raises
    ------
    PolicyError
        If the policy does not allow it.
    """
    market = job.run.policy.market
    layer = market.layers[-1]
    day = governing_date(market, layer, job.record.dates)
    with TemporaryDirectory(prefix="airwarrant-") as folder:
        own = f"{layer}/{day.isoformat() if day else _FOLDER}/{_FILE}"
        lay_out(Path(folder), {**files, own: _HEAD + edit.text(job.run.policy)})
        return compose(Path(folder), market.name, job.record.dates)


def _run(job: Job, policy: Policy) -> Any:
    try:
        with Evaluator(policy, detail=False) as evaluator:
            job.evaluations += 1
            return evaluator.run(job.record)
    except AirFault:
        return None


def _of_ways(job: Job, task: str, place: str) -> Iterator[PolicyEdit]:
    """Edits that give every verdict of a way the word it needs; ways that need a word of the record are not for policy."""
    solved: set[tuple[object, ...]] = set()
    for way in job.reasoner.line(task, place):
        if way and all(asked[0] == "verdict" for asked in way):
            for name, row in _values(job, way):
                for edit in _nearest(job, name, row, way):
                    key = (edit.name, edit.row, edit.after)
                    if key not in solved:
                        solved.add(key)
                        yield edit


def _of_gain(job: Job, line: str) -> Iterator[PolicyEdit]:
    """A line that was taken out because it gains too little stays where the floor is no higher than its gain."""
    held = job.run.settled.lines.get(line)
    if held is not None and held.pruned is not None:
        edit = _edit(job.run.policy, GAIN_FLOOR, None)
        if edit is not None:
            unit = UNITS[edit.unit]
            step = 10.0**-unit.decimals
            yield replace(edit, after=round(float(held.pruned) // step * step, unit.decimals))


def _values(job: Job, way: Way) -> tuple[tuple[str, int | None], ...]:
    """Policy values that every verdict of a way was made from: each of them has to move."""
    common: dict[tuple[str, int | None], None] | None = None
    for _, check, time, key in way:
        verdict = job.run.verdicts.get((check, time, key))
        found = {
            (leaf.name, leaf.row): None
            for leaf in (leaves(verdict) if verdict else ())
            if leaf.form in ("parameter", "table") and leaf.name != BAND_FACTOR
        }
        common = found if common is None else {value: None for value in common if value in found}
    return tuple(common or ())


def _edit(policy: Policy, name: str, row: int | None) -> PolicyEdit | None:
    if row is None:
        one = policy.parameters.get(name)
        if one is None or isinstance(one.value, str):
            return None
        place = one.keys["value"].place
        return PolicyEdit(name, one.title, None, "", float(one.value), float(one.value), one.unit, one.edit, place)
    table = policy.tables[name]
    key, answer = table.rows[row]
    place = table.row_places[row] if table.row_places else table.place
    at = f"{table.by} {key:g} {table.by_unit}" if isinstance(key, float) else f"{table.by} {key}"
    return PolicyEdit(name, table.title, row, at, answer, answer, table.unit, table.edit, place)


def _with(policy: Policy, edit: PolicyEdit) -> Policy:
    """The policy with one value otherwise, without composing it again."""
    if edit.row is None:
        parameter: Parameter = replace(policy.parameters[edit.name], value=edit.after)
        return replace(policy, parameters={**policy.parameters, edit.name: parameter}, digest="")
    table: Table = policy.tables[edit.name]
    rows = tuple((key, edit.after if i == edit.row else answer) for i, (key, answer) in enumerate(table.rows))
    return replace(policy, tables={**policy.tables, edit.name: replace(table, rows=rows)}, digest="")


def _nearest(job: Job, name: str, row: int | None, way: Way) -> Iterator[PolicyEdit]:
    """The nearest value either way at which every verdict of a way has the word it needs, by judging alone."""
    edit = _edit(job.run.policy, name, row)
    if edit is None:
        return
    decimals = UNITS[edit.unit].decimals

    def trial(steps: int) -> PolicyEdit:
        return replace(edit, after=round(edit.before + steps * 10.0**-decimals, decimals))

    def meets(steps: int) -> bool:
        judged = job.judged(Prepared(_with(job.run.policy, trial(steps))), job.record, words_changed=False)
        return all(job.verdict(judged, asked).word in words for asked, words in way.items())

    for sign in (-1, 1):
        # A value keeps its sign; upwards it may grow to a hundred times what it is, or to a hundred of its unit.
        room = abs(edit.before) if sign * edit.before < 0 else 99.0 * max(abs(edit.before), 1.0)
        most = int(room * 10.0**decimals + 1e-6)
        steps = fewest_steps(lambda steps, sign=sign: meets(sign * steps), most)  # type: ignore[misc]
        if steps is not None:
            yield trial(sign * steps)
