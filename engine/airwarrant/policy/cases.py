"""Cases beside the policy: a small job, what is otherwise in it, and what must come of it, in an owner's words.

They stand in `cases/*.toml` of a policies folder, beside the layers and not in one: a case changes no policy and no digest.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.faults import Faults
from airwarrant.policy.files import read_bytes, validated
from airwarrant.policy.model import Policy, Tier, Time, Word
from airwarrant.policy.rule_shape import Id, Name, Shape, Spoken, Text, When
from airwarrant.policy.shape import plain_schema
from airwarrant.source.document import Document, read_toml
from airwarrant.source.place import Place

FOLDER = "cases"
RECORDS = f"{FOLDER}/records"
#: Cases at every limit, as `airwarrant policy cases` writes them.
LIMITS = f"{FOLDER}/limits"

Head = Literal[
    "line", "held", "declined", "finding", "retest", "verdict", "stop", "caution", "target", "fires", "nearly"
]
#: What an expectation may begin with -> the further keys it may have.
HEADS: Mapping[Head, tuple[str, ...]] = {
    "line": ("rule", "tier", "size", "absent"),
    "held": ("rule", "named", "absent"),
    "declined": ("rule", "absent"),
    "finding": ("rule", "absent"),
    "retest": ("rule", "when", "absent"),
    "verdict": ("is", "time"),
    "stop": ("rule", "absent"),
    "caution": ("rule", "absent"),
    "target": ("rule", "gate", "absent"),
    "fires": ("absent",),
    "nearly": (),
}
#: What a `held` may name beside tasks.
PROPOSAL = "proposal"
Whole = Annotated[dict[str, Any], Field(max_length=24)]


class ExpectShape(Shape):
    """One thing that must come of a case; exactly one of the first eleven keys says what."""

    line: Id | None = None
    held: Id | None = None
    declined: Id | None = None
    finding: Id | None = None
    retest: Name | None = None
    verdict: Id | None = None
    stop: Id | None = None
    caution: Id | None = None
    target: Id | None = None
    fires: Id | None = None
    nearly: Id | None = None
    place: Spoken = "house"
    rule: Id | None = None
    tier: Tier | None = None
    size: Spoken | None = None
    named: Spoken | None = None
    when: When | None = None
    is_: Word | None = Field(default=None, alias="is")
    time: Time | None = None
    gate: bool | None = None
    absent: bool | None = None


class CaseBlock(Shape):
    """One case."""

    title: Text
    from_: Spoken | None = Field(default=None, alias="from")
    market: Spoken | None = None
    change: Whole = Field(default_factory=dict)
    add: Whole = Field(default_factory=dict)
    without: Annotated[list[Annotated[str, Field(min_length=1, max_length=120)]], Field(max_length=24)] = Field(
        default_factory=list
    )
    expect: Annotated[list[ExpectShape], Field(min_length=1, max_length=40)]


class CasesHead(Shape):
    """What holds of every case of a file unless it says otherwise."""

    title: Text
    from_: Spoken | None = Field(default=None, alias="from")
    market: Spoken | None = None


class CaseFile(Shape):
    """A file of cases."""

    cases: CasesHead
    case: Annotated[list[CaseBlock], Field(min_length=1, max_length=500)]


@dataclass(frozen=True, slots=True)
class Expectation:
    """One thing that must come of a case, or with `absent` must not.

    `name` is the task, finding, reading, check, stop, caution or rule that `head` speaks of. An empty string says nothing.
    """

    head: Head
    name: str
    place: str
    at: Place
    rule: str = ""
    tier: str = ""
    size: str = ""
    named: str = ""
    when: str = ""
    is_: str = ""
    time: Time = "found"
    gate: bool | None = None
    absent: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """A record to start from, what is otherwise in it, and what is expected.

    Attributes
    ----------
    start : str
        Name of the record: one of `cases/records/`, else a shipped scenario.
    market : str
        Empty: the record's own.
    change, add : mapping
        Nested by dotted path, as the file has them.
    without : tuple of str
        Dotted paths of what is left out of the record.
    document, path
        The file and where the case stands in it, for the place of every part.
    """

    title: str
    start: str
    market: str
    change: Mapping[str, Any]
    add: Mapping[str, Any]
    without: tuple[str, ...]
    expect: tuple[Expectation, ...]
    document: Document
    path: tuple[str | int, ...]

    @property
    def place(self) -> Place:
        return self.document.place(self.path)


def read_cases(root: Path) -> tuple[Case, ...]:
    """Read every case of a policies folder, by file and in the order written.

    Raises
    ------
    PolicyError
        With every fault of every file.
    """
    faults = Faults()
    cases: list[Case] = []
    for path in (*sorted((root / FOLDER).glob("*.toml")), *sorted((root / LIMITS).glob("*.toml"))):
        try:
            cases += parse_cases(read_bytes(root, path), path.relative_to(root).as_posix())
        except PolicyError as error:
            faults += error.faults
    if faults:
        raise PolicyError(faults)
    return tuple(cases)


def parse_cases(text: bytes, file: str) -> tuple[Case, ...]:
    """Read the cases of one file; raises `PolicyError` with every fault."""
    document = read_toml(text, file, error=PolicyError)
    shape = validated(CaseFile, document)
    faults = Faults()
    titles: dict[str, Place] = {}
    cases = []
    for index, block in enumerate(shape.case):
        path = ("case", index)
        if not (start := block.from_ or shape.cases.from_):
            faults.note("missing-key", "the case names no record", 'from = "…"', place=document.place(path))
        if block.title in titles:
            found = f"the title stands twice, also at {titles[block.title]}"
            faults.note("duplicate-title", found, "one of its own", place=document.place((*path, "title")))
        titles[block.title] = document.place((*path, "title"))
        expect = tuple(
            _expectation(one, document, (*path, "expect", number), faults) for number, one in enumerate(block.expect)
        )
        # The data as the file has it: what a path leads to is checked where the record is made.
        raw = document.data["case"][index]
        cases.append(
            Case(
                title=block.title,
                start=start or "",
                market=block.market or shape.cases.market or "",
                change=raw.get("change", {}),
                add=raw.get("add", {}),
                without=tuple(block.without),
                expect=tuple(one for one in expect if one),
                document=document,
                path=path,
            )
        )
    if faults:
        raise PolicyError(faults)
    return tuple(cases)


def name_faults(case: Case, policy: Policy) -> tuple[Fault, ...]:
    """Return a fault for each name in a case's expectations that its market's policy does not know."""
    known = _known(policy)
    faults = Faults()
    for one in case.expect:
        names = known[one.head]
        if one.name not in names:
            what = f"there is no {_SPOKEN.get(one.head, one.head)} `{one.name}` in market `{policy.market.name}`"
            faults.note("unknown-name", what, place=one.at, advice=nearest(one.name, names))
        if one.rule and one.rule not in policy.rules:
            what = f"there is no rule `{one.rule}` in market `{policy.market.name}`"
            faults.note("unknown-name", what, place=one.at, advice=nearest(one.rule, policy.rules))
    return tuple(faults)


def cases_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a file of cases."""
    return plain_schema(CaseFile, "A file of cases")


_SPOKEN = {
    "line": "task",
    "held": "task",
    "declined": "task",
    "verdict": "check",
    "target": "check",
    "retest": "reading",
}
_SPOKEN |= {"fires": "rule", "nearly": "rule"}


def _known(policy: Policy) -> Mapping[Head, Iterable[str]]:
    concluded: dict[str, set[str]] = {"finding": set(), "stop": set(), "caution": set()}
    for rule in policy.rules.values():
        for then in rule.then:
            if then.what in concluded:
                concluded[then.what].add(then.name)
    readings = {name for kind in KINDS.values() for name in kind.fields} | set(policy.figures)
    return {
        "line": policy.tasks,
        "held": [*policy.tasks, PROPOSAL],
        "declined": policy.tasks,
        "finding": concluded["finding"],
        "retest": readings,
        "verdict": policy.checks,
        "stop": concluded["stop"],
        "caution": concluded["caution"],
        "target": policy.checks,
        "fires": policy.rules,
        "nearly": policy.rules,
    }


def _expectation(
    shape: ExpectShape, document: Document, path: Sequence[str | int], faults: Faults
) -> Expectation | None:
    at = document.place(tuple(path))
    given = {field.alias or name: getattr(shape, name) for name, field in ExpectShape.model_fields.items()}
    given = {key: value for key, value in given.items() if value is not None}
    heads = [head for head in HEADS if head in given]
    if len(heads) != 1:
        found = "nothing is expected" if not heads else f"{' and '.join(heads)} in one expectation"
        faults.note("unknown-form", found, f"one with one key of {', '.join(HEADS)}", place=at)
        return None
    head = heads[0]
    for key in sorted(given.keys() - {head, "place", *HEADS[head]}):
        allowed = ", ".join(("place", *HEADS[head]))
        place = document.key_place((*path, key))
        faults.note("unknown-key", f"`{key}` says nothing of a `{head}`", allowed, place=place)
    if head == "verdict" and "is" not in given:
        faults.note("missing-key", "the verdict's word is missing", 'is = "…"', place=at)
    return Expectation(
        head,
        given[head],
        shape.place,
        at,
        rule=shape.rule or "",
        tier=shape.tier or "",
        size=shape.size or "",
        named=shape.named or "",
        when=shape.when or "",
        is_=shape.is_ or "",
        time=shape.time or "found",
        gate=shape.gate,
        absent=bool(shape.absent),
    )
