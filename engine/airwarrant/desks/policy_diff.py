"""The difference between the policies of two markets, or of one market at two dates, as sentences."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date
from pathlib import Path

from airwarrant.desks.policy_diff_limits import check_points, figure_points, only_text, parameter_points, table_points
from airwarrant.desks.policy_diff_points import GROUPS, Difference, Group, Kind, Point, both, one, two
from airwarrant.desks.policy_diff_prices import book_text, price_points
from airwarrant.desks.policy_diff_rules import rule_points, task_points
from airwarrant.desks.policy_diff_voice import Side, Source, Voice, source_of, source_of_key
from airwarrant.errors import CallError, Fault
from airwarrant.policy.compose import compose_sources
from airwarrant.policy.digest import ORIGIN
from airwarrant.policy.files import SourceFile, read_sources
from airwarrant.policy.history import blocks_of
from airwarrant.policy.model import AUTHORITIES, Check, Figure, Market, Named, Parameter, Rule, Sourced, Table, Task
from airwarrant.policy.price_model import PREFIX
from airwarrant.policy.readers import Readers, readers_of
from airwarrant.policy.show import rule_sentence
from airwarrant.policy.show_prices import SECTIONS
from airwarrant.policy.show_sizes import task_sentence
from airwarrant.policy.show_values import basis_text, right_text
from airwarrant.source.document import Document

#: What a block says of itself: it changes nothing on a job.
_SAID_OF = ("basis", "edit", "note", "review_by", "choices", "of")
_EDITS = ("locked", "code", "company", "job", "")


@dataclass(frozen=True, slots=True)
class PolicyDiff:
    """Two sides and every block in which they differ, most important first."""

    a: Side
    b: Side
    differences: tuple[Difference, ...]

    def group(self, group: Group) -> tuple[Difference, ...]:
        return tuple(d for d in self.differences if d.group == group)

    @property
    def days(self) -> str:
        """Which day is told of where a side names none; empty where both do."""
        without = {side.name: side.latest for side in (self.a, self.b) if side.on is None}
        if not without:
            return ""
        same = len(set(without.values())) == 1
        sides = {" and ".join(without): self.a.latest if self.a.on is None else self.b.latest} if same else without
        said = "; ".join(f"{name} with every dated folder, the latest {latest}" for name, latest in sides.items())
        return f"{said}; {next(iter(without))}@DAY for one day"

    @property
    def groups(self) -> tuple[Group, ...]:
        """Groups that hold something."""
        return tuple(group for group in GROUPS if self.group(group))


def read_side(text: str) -> tuple[str, date | None]:
    """Read ``MARKET`` or ``MARKET@DATE``.

    Raises
    ------
    CallError
        ``side``: what stands after ``@`` is no day.
    """
    market, at, day = text.partition("@")
    if not at:
        return market, None
    try:
        if len(day) != len("2026-01-31"):
            raise ValueError
        return market, date.fromisoformat(day)
    except ValueError:
        advice = f"Write `{market or 'copper-basin'}@2027-01-01`."
        raise CallError(
            [Fault("side", f"`{text}`", "a market, or a market and a day after `@`", advice=advice)]
        ) from None


def compose_sides(roots: Sequence[Path], *sides: tuple[str, date | None]) -> tuple[Side, ...]:
    """Compose the policy of each side; files that several share are read once. Raises `PolicyError` as `compose` does."""
    read: dict[SourceFile, Document] = {}
    out = []
    for market, on in sides:
        sources = read_sources(roots, market, {"survey": on})
        out.append(Side(market, on, compose_sources(sources, read)))
    return tuple(out)


def policy_diff(a: Side, b: Side) -> PolicyDiff:
    """Return every block in which two policies differ in meaning; the second side is told, the first compared with.

    Where a value stands, or which layer says it, makes no difference; what it says, its source and who may change it do.
    """
    voice = Voice(a, b)
    found = [*_market(voice), *_blocks(voice), *_texts(voice)]
    return PolicyDiff(a, b, tuple(sorted(found, key=_rank)))


def _rank(one: Difference) -> tuple[int, int, int, str, str]:
    """Groups by meaning; in one, what safety or law rests on first."""
    authority = AUTHORITIES.index(one.authority) if one.authority in AUTHORITIES else len(AUTHORITIES)
    return GROUPS.index(one.group), authority, _EDITS.index(one.edit), one.section, one.name


def _blocks(voice: Voice) -> Iterator[Difference]:
    first, second = blocks_of(voice.a.policy), blocks_of(voice.b.policy)
    for section in first:
        for name in sorted({*first[section], *second[section]}):
            before, after = first[section].get(name), second[section].get(name)
            if before is not None and after is not None:
                if moved := _moved(before, after):
                    yield _changed(voice, section, before, after, moved)
            elif after is not None:
                yield _only(voice, section, voice.b, after)
            elif before is not None:
                yield _only(voice, section, voice.a, before)


def _moved(a: Named, b: Named) -> frozenset[str]:
    """Names of what two blocks say differently."""
    built = {f.name for f in fields(a) if f.name not in ORIGIN and getattr(a, f.name) != getattr(b, f.name)}
    said = {key for key in _SAID_OF if _raw(a, key) != _raw(b, key)}
    return frozenset(built | said)


def _raw(block: Named, key: str) -> object:
    return block.keys[key].value if key in block.keys else None


def _changed(voice: Voice, section: str, a: Named, b: Named, moved: frozenset[str]) -> Difference:
    points, about = tuple(_points(voice, section, a, b)), tuple(_said_of(voice, a, b))
    works = moved - {*_SAID_OF, "title"}
    if works and not points:  # what differs has no words of its own: it is named all the same
        points = tuple(_named(voice, name, a, b) for name in sorted(works))
    group: Group = _group(section, b.name) if works else "wording" if "title" in moved else "sources"
    return _difference(voice, group, section, b, "changed", points, about)


def _named(voice: Voice, name: str, a: Named, b: Named) -> Point:
    first, second = (str(getattr(block, name, _raw(block, name))) for block in (a, b))
    return both(voice, name, f"`{name}` of “{_title(b)}”", (first, second), a, b, name)


def _points(voice: Voice, section: str, a: Named, b: Named) -> Iterable[Point]:
    if isinstance(a, Parameter) and isinstance(b, Parameter):
        return parameter_points(voice, a, b)
    if isinstance(a, Table) and isinstance(b, Table):
        return table_points(voice, a, b)
    if isinstance(a, Figure) and isinstance(b, Figure):
        return figure_points(voice, a, b) if _moved(a, b) - {*_SAID_OF, "title"} else ()
    if isinstance(a, Check) and isinstance(b, Check):
        return check_points(voice, a, b)
    if isinstance(a, Rule) and isinstance(b, Rule):
        return rule_points(voice, a, b)
    if isinstance(a, Task) and isinstance(b, Task):
        return task_points(voice, a, b)
    return price_points(voice, section, a, b)


def _said_of(voice: Voice, a: Named, b: Named) -> Iterator[Point]:
    """Title, source, right and note, where they differ."""
    titles = _title(a), _title(b)
    if titles[0] != titles[1]:
        named = f"“{titles[0]}”", f"“{titles[1]}”"
        yield both(voice, "title", f"the name of `{b.name}`", named, a, b, "title")
    bases = _raw(a, "basis"), _raw(b, "basis")
    if bases[0] != bases[1]:
        first, second = (basis_text(basis) if isinstance(basis, dict) else "not given" for basis in bases)
        yield both(voice, "basis", f"the source of “{titles[1]}”", (first, second), a, b, "basis")
    edits = _raw(a, "edit"), _raw(b, "edit")
    if edits[0] != edits[1]:
        first, second = (right_text(str(edit)) if edit else "not said" for edit in edits)
        yield both(voice, "edit", f"the right to change “{titles[1]}”", (first, second), a, b, "edit")
    for key, kind in (
        ("note", "note"),
        ("review_by", "day of review"),
        ("choices", "words to choose from"),
        ("of", "base"),
    ):
        subject = f"the {kind} of “{titles[1]}”"
        if key in a.keys and key in b.keys and _raw(a, key) != _raw(b, key):
            said = _listed(_raw(a, key)), _listed(_raw(b, key))
            yield both(voice, key, subject, said, a, b, key)
        elif key in a.keys or key in b.keys:
            for side, block, other in ((voice.b, b, a), (voice.a, a, b)):
                if key in block.keys and key not in other.keys:
                    yield one(voice, key, side, f"{subject} is {_listed(_raw(block, key))}", source_of_key(block, key))


def _listed(value: object) -> str:
    return (
        ", ".join(map(str, value))
        if isinstance(value, list)
        else f"“{value}”"
        if isinstance(value, str)
        else str(value)
    )


def _only(voice: Voice, section: str, side: Side, block: Named) -> Difference:
    point = one(voice, section, side, _whole(side, section, block), source_of(block))
    kind: Kind = "added" if side is voice.b else "removed"
    return _difference(voice, _group(section, block.name), section, block, kind, (point,))


def _whole(side: Side, section: str, block: Named) -> str:
    if isinstance(block, Parameter | Table | Figure | Check):
        return only_text(side, section, block)
    if isinstance(block, Rule):
        return f"the rule “{block.title}”. {rule_sentence(side.policy, block)}"
    if isinstance(block, Task):
        return f"the task “{block.title}”. {task_sentence(side.policy, block)}"
    return book_text(side, section, block)


def _difference(
    voice: Voice,
    group: Group,
    section: str,
    block: Named,
    kind: Kind,
    points: tuple[Point, ...],
    about: tuple[Point, ...] = (),
) -> Difference:
    sides = [side for side in (voice.a, voice.b) if block.name in blocks_of(side.policy)[section]]
    read = [readers_of(side.policy, section, block.name) for side in sides]
    authorities = [
        rule.authority
        for side, readers in zip(sides, read, strict=True)
        for name in (*readers.rules, *((block.name,) if section == "rule" else ()))
        if (rule := side.policy.rules.get(name)) is not None
    ]
    strictest = min(authorities, key=AUTHORITIES.index, default="")
    rights = [str(_raw(blocks_of(side.policy)[section][block.name], "edit") or "") for side in sides]
    edit = min(rights, key=_EDITS.index)
    together = _together(read)
    return Difference(group, section, block.name, _title(block), kind, edit, points, about, together, strictest)


def _together(read: Sequence[Readers]) -> Readers:
    """Readers on either side."""

    def both(what: str) -> tuple[str, ...]:
        return tuple(sorted({name for one in read for name in getattr(one, what)}))

    program = next((one.program for one in read if one.program), "")
    return Readers(both("figures"), both("checks"), both("rules"), both("tasks"), both("prices"), program)


def _group(section: str, name: str) -> Group:
    if section in SECTIONS or (section == "parameter" and name.startswith(PREFIX)):
        return "prices"
    return {"rule": "rules", "task": "work"}.get(section, "limits")  # type: ignore[return-value]


def _title(block: Named) -> str:
    title = getattr(block, "title", "")
    return str(title) if title else block.name


def _market(voice: Voice) -> Iterator[Difference]:
    """What the files of the markets themselves say, and which dated folders are in force."""
    a, b = voice.a.policy, voice.b.policy
    facts = (
        (
            "jurisdiction",
            "the jurisdiction",
            a.market.jurisdiction or "not named",
            b.market.jurisdiction or "not named",
        ),
        ("editions", "the list of adopted editions", _names(a.market.editions), _names(b.market.editions)),
        ("currency", "the currency", a.market.currency, b.market.currency),
        ("layers", "the list of layers", _names(_in_force(a.layers)), _names(_in_force(b.layers))),
        ("dates_by_layer", "the date that governs", _dates(a.market), _dates(b.market)),
    )
    places = tuple(Source("", "", side.policy.market.place) for side in (voice.a, voice.b))
    for name, subject, first, second in facts:
        if first != second:
            says = f"{voice.within(voice.b)}, {subject} is {second}; {voice.within(voice.a)} it is {first}."
            point = Point(name, first, second, places[0], places[1], says[:1].upper() + says[1:])
            yield Difference("market", "market", name, subject[0].upper() + subject[1:], "changed", "", (point,))


def _in_force(layers: Iterable[tuple[str, str]]) -> list[str]:
    return [f"{layer} {effective}" for layer, effective in layers]


def _names(names: Iterable[str]) -> str:
    return ", ".join(names) or "empty"


def _dates(market: Market) -> str:
    return ", ".join(f"{layer} by the {day} date" for layer, day in market.dates_by_layer.items())


def _texts(voice: Voice) -> Iterator[Difference]:
    """Texts that papers and results say, language by language."""
    first, second = voice.a.policy.said, voice.b.policy.said
    for name in sorted({*first, *second}):
        before, after = first.get(name, {}), second.get(name, {})
        points = [
            point
            for language in sorted({*before, *after})
            for point in _text(voice, name, language, before.get(language), after.get(language))
        ]
        if points:
            kind: Kind = "added" if not before else "removed" if not after else "changed"
            yield Difference("wording", "said", name, name, kind, "", tuple(points))


def _text(voice: Voice, name: str, language: str, a: Sourced | None, b: Sourced | None) -> Iterator[Point]:
    subject = f"the text `{name}` ({language})"
    if a is not None and b is not None:
        if a.value != b.value:
            texts = f"“{a.value}”", f"“{b.value}”"
            yield two(voice, language, subject, (texts[0], source_of(a)), (texts[1], source_of(b)))
    elif b is not None:
        yield one(voice, language, voice.b, f"{subject} is “{b.value}”", source_of(b))
    elif a is not None:
        yield one(voice, language, voice.a, f"{subject} is “{a.value}”", source_of(a))
