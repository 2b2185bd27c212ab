"""Cases at every limit of a policies folder, in the words of the owner's own: what is written, and what cannot be reached."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from airwarrant.desks.cases import CaseRunner
from airwarrant.desks.limit_walk import Near, Walk
from airwarrant.errors import PolicyError
from airwarrant.evaluate import Evaluator
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.job.fields import EXPECTED
from airwarrant.job.lookup import found_visits
from airwarrant.job.record import JobRecord
from airwarrant.job.subject import Subject
from airwarrant.policy.cases import LIMITS, parse_cases
from airwarrant.policy.files import market_names
from airwarrant.policy.model import Check, Policy, Ref
from airwarrant.policy.show_values import number_text
from airwarrant.rules.numbers import Number
from airwarrant.rules.verdict import Verdict
from airwarrant.source.place import Place
from airwarrant.units import fixed

#: The record that the cases start from.
RECORD = "whole-house"
_WORDS = {
    "within": "just within {limit}",
    "in doubt": "a step short of that, which is in doubt and counts as missed",
    "at": "at {limit}",
    "beyond": "just beyond {limit}",
    "not measured": "within {limit}, but its state is `{state}`",
}


@dataclass(frozen=True, slots=True)
class Unreached:
    """A limit that has no case, and why."""

    check: str
    market: str
    place: Place
    why: str


@dataclass(frozen=True, slots=True)
class LimitFile:
    """A file of cases: its name below the folder, the layer whose limits it holds, its text without the mark, how many cases."""

    name: str
    layer: str
    text: str
    cases: int


@dataclass(frozen=True, slots=True)
class LimitCases:
    """What a folder's limits come to: files of cases, and limits that have none under any market."""

    files: tuple[LimitFile, ...]
    unreached: tuple[Unreached, ...] = ()


@dataclass(frozen=True, slots=True)
class _Group:
    """The cases of one limit."""

    market: str
    layer: str
    source: str
    check: Check
    subject: Subject
    near: tuple[Near, ...]
    beside: tuple[tuple[str, str], ...]
    comment: tuple[str, ...]


def limit_cases(
    roots: Sequence[Path],
    record_name: str = RECORD,
    done: Callable[[int, int], object] = lambda at, of: None,
) -> LimitCases:
    """Write the cases of every limit that is in force in a market of a folder, each under the first market that has it.

    Parameters
    ----------
    roots : sequence of Path
        The folder, then those whose layers and records it may name.
    record_name : str
        The record that they start from.
    done : callable of (int, int)
        Told after each market how many of how many are done.

    Raises
    ------
    PolicyError
        If a market is broken, or there is no such record.
    """
    groups: list[_Group] = []
    seen: set[object] = set()
    reached: set[tuple[str, Place]] = set()
    missed: dict[tuple[str, Place], Unreached] = {}
    names = market_names(roots[0])
    with CaseRunner(roots) as runner:
        for number, market in enumerate(names, 1):
            record, evaluator = runner.start(record_name, market)
            paths = _Paths(record)
            for check in evaluator.policy.checks.values():
                made = list(_of_check(check, record, evaluator, market, seen))
                groups += made
                key = (check.name, check.place)
                if made:
                    reached.add(key)
                elif key not in reached and key not in missed:
                    missed[key] = _why(check, market, record, evaluator)
            done(number, len(names))
        unreached = [one for key, one in missed.items() if key not in reached]
        files = [
            _file(several, layer, source, record_name, paths, runner, unreached)
            for (layer, source), several in _by_file(groups).items()
        ]
    return LimitCases(tuple(one for one in files if one.cases), tuple(unreached))


def _by_file(groups: Sequence[_Group]) -> dict[tuple[str, str], list[_Group]]:
    held: dict[tuple[str, str], list[_Group]] = {}
    for one in groups:
        held.setdefault((one.layer, one.source), []).append(one)
    return {
        key: sorted(several, key=lambda one: (one.check.place, one.market)) for key, several in sorted(held.items())
    }


def _of_check(
    check: Check, record: JobRecord, evaluator: Evaluator, market: str, seen: set[object]
) -> Iterator[_Group]:
    """The cases of a check's limits that no market before had."""
    policy = evaluator.policy
    walk = Walk(record, evaluator.prepared)
    subject = walk.subject(check)
    if subject is None:
        return
    for otherwise in walk.circumstances(check, subject):
        stands = _stands_on(walk.verdict(check, subject, otherwise), policy)
        asked = (check.name, check.place, tuple(otherwise.items()), stands)
        if asked in seen:
            continue
        seen.add(asked)
        near = walk.around(check, subject, otherwise)
        if not near or near[0].verdict.limit is None:
            continue
        limit = near[0].verdict.limit
        # A row of a table is held at each of its keys; any other limit once.
        by_key = limit.row is not None and bool(otherwise)
        governs = (check.name, check.place, _parts(limit), _places(limit, policy), by_key and tuple(otherwise.items()))
        if governs in seen:
            continue
        seen.add(governs)
        states = ("states", check.name, check.place)
        if states in seen:
            near = tuple(one for one in near if not one.state)
        seen.add(states)
        layer, comment = _held(check, near[0].verdict, policy)
        source = Path(check.place.file).stem
        beside = tuple((name, _shown(walk.field(key, name), value)) for (key, name), value in otherwise.items())
        yield _Group(market, layer, source, check, subject, near, beside, comment)


def _parts(limit: Number) -> tuple[object, ...]:
    return (limit.form, limit.name, limit.row, *(_parts(part) for part in limit.parts))


def _places(limit: Number, policy: Policy) -> tuple[Place | None, ...]:
    return tuple(_place(policy, leaf.name) for leaf in limit.leaves() if leaf.form in ("parameter", "table"))


def _stands_on(verdict: Verdict, policy: Policy) -> tuple[Place, ...]:
    """Where the policy values stand that a verdict was made with."""
    return tuple(place for name in verdict.reads if (place := _place(policy, name)) is not None)


def _place(policy: Policy, name: str) -> Place | None:
    if name in policy.parameters:
        return policy.parameters[name].keys["value"].place
    if name in policy.tables:
        return policy.tables[name].keys["rows"].place
    return None


def _held(check: Check, verdict: Verdict, policy: Policy) -> tuple[str, tuple[str, ...]]:
    """The layer of the value that makes the limit, and what is said of it."""
    assert verdict.limit is not None
    layer, said = check.layer, []
    for leaf in verdict.limit.leaves():
        if leaf.form == "parameter":
            own = policy.parameters[leaf.name].keys["value"]
            said.append(f"`{leaf.name}`, {own.place.file}:{own.place.line}")
            layer = own.layer
        elif leaf.form == "table" and leaf.row is not None:
            table = policy.tables[leaf.name]
            place = table.row_places[leaf.row] if leaf.row < len(table.row_places) else table.keys["rows"].place
            said.append(f"row {leaf.row + 1} of `{leaf.name}`, {place.file}:{place.line}")
            layer = table.keys["rows"].layer
        elif leaf.form == "reading":
            said.append(f"{leaf.name} of the record")
    return layer, (
        f"{check.title}: {check.must_be} {verdict.limit.text()}; {check.place.file}:{check.place.line}",
        f"holds {'; '.join(dict.fromkeys(said)) or 'the number of the check'}",
    )


def _why(check: Check, market: str, record: JobRecord, evaluator: Evaluator) -> Unreached:
    if any(limit.of.name.startswith(EXPECTED) or _expects(limit.of, evaluator.policy) for limit in check.limits):
        why = "its limit is what was predicted, no number of the policy"
    elif Walk(record, evaluator.prepared).subject(check) is None:
        why = f"record `{record.id}` does not hold what it asks for"
    else:
        why = "no number of the record brings it to its limit by itself"
    return Unreached(check.name, market, check.place, why)


def _expects(ref: Ref, policy: Policy) -> bool:
    figure = policy.figures.get(ref.name)
    return figure is not None and any(one.name.startswith(EXPECTED) for one in figure.refs)


# ------------------------------------------------------------------------ text


def _file(
    groups: Sequence[_Group],
    layer: str,
    source: str,
    record: str,
    paths: "_Paths",
    runner: CaseRunner,
    unreached: list[Unreached],
) -> LimitFile:
    """The file of some limits; those of which no case can be written are added to `unreached`."""
    usual = max({one.market for one in groups}, key=lambda name: sum(one.market == name for one in groups))
    head = ["[cases]", f'title = "Limits that {layer} sets"', f'from = "{record}"', f'market = "{usual}"']
    titles: set[str] = set()
    blocks = []
    for one in groups:
        made = [_case(one, near, usual, paths, titles) for near in one.near]
        held = [case for case in made if case and _holds(runner, case, head)]
        if not held:
            why = "what it asks for cannot be written into the record by one number"
            unreached.append(Unreached(one.check.name, one.market, one.check.place, why))
            continue
        blocks += ["", *(f"# {line}" for line in one.comment), *held]
    text = "\n".join([*head, *blocks]) + "\n"
    return LimitFile(f"{LIMITS}/{layer.replace('/', '-')}-{source}.toml", layer, text, text.count("[[case]]"))


def _holds(runner: CaseRunner, case: str, head: Sequence[str]) -> bool:
    """Whether a case says, of the record itself, what the walk has found."""
    try:
        (one,) = parse_cases("\n".join([*head, case]).encode(), LIMITS)
    except PolicyError:
        return False
    came = runner.run(one)
    return not came.failures and not came.faults


def _case(one: _Group, near: Near, usual: str, paths: "_Paths", titles: set[str]) -> str:
    limit = one.near[0].verdict.limit if near.state else near.verdict.limit
    changes = [paths.said(key, name, value) for (key, name), value in near.otherwise.items()]
    if not all(changes):
        return ""
    if near.state:
        path, _, value = changes[-1].partition(" = ")
        changes[-1] = f'{path} = {{ value = {value}, state = "{near.state}" }}'
    beside = "".join(f", {name} {value}" for name, value in one.beside)
    market = f", {one.market}" if one.market != usual else ""
    title = f"{one.check.name}{beside}{market}: {_WORDS[near.where].format(limit=limit.text() if limit else '', state=near.state)}"
    if title in titles and limit is not None:
        title += f", by {limit.name}"
    if title in titles:
        return ""
    titles.add(title)
    place = f', place = "{one.subject.key}"' if one.subject.key != HOUSE_KEY else ""
    lines = ["[[case]]", f'title = "{title}"']
    if market:
        lines.append(f'market = "{one.market}"')
    lines.append(f"change = {{ {', '.join(changes)} }}")
    lines.append(f'expect = [{{ verdict = "{one.check.name}"{place}, is = "{near.verdict.word}" }}]')
    return "\n".join(lines)


def _shown(known: Field, value: float | str) -> str:
    return value if isinstance(value, str) else f"{fixed(value, known.unit)} {known.unit}"


class _Paths:
    """Where a record holds its fields, as a case's `change` names them."""

    def __init__(self, record: JobRecord) -> None:
        self._record = record

    def said(self, key: str, name: str, value: float | str) -> str:
        """``path = value`` of one field; empty where a case cannot change it."""
        kind = HOUSE_KEY if key == HOUSE_KEY else self._record.items[key].kind
        known = KINDS[kind].fields[name]
        if known.section == "derived":
            return self._day(name, value)
        shown = f'"{value}"' if isinstance(value, str) else number_text(value)
        if kind != HOUSE_KEY:
            return f"{kind}.{key}.{name} = {shown}"
        if known.form == "word" and known.section == "visit":
            return ""
        block = "old" if known.timed or known.section == "old" else "new" if known.section == "new" else "house"
        return f"{block}.{known.key or name} = {shown}" if not known.section.endswith("blower") else ""

    def _day(self, name: str, value: float | str) -> str:
        """The day from which a number of days is counted."""
        until = self._record.dates["proposal"] or self._record.dates["survey"]
        if until is None or isinstance(value, str):
            return ""
        day: date = until - timedelta(days=round(value))
        visits, instruments = found_visits(self._record), self._record.instruments
        if name == "age" and visits:
            return f"visit.{visits[0].kind}.date = {day.isoformat()}"
        if name == "instrument_age" and len(instruments) == 1:
            return f"instrument.{next(iter(instruments))}.checked = {day.isoformat()}"
        return ""
