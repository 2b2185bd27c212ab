"""The blank survey asks for what a market reads, all of it and nothing else, and becomes a record when it is filled."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from airwarrant.desks.model_reads import MODEL
from airwarrant.desks.reads import reads_of, words_read
from airwarrant.desks.survey import Part, blank_record, survey
from airwarrant.desks.usual import in_units, unranged, usual_ranges
from airwarrant.errors import RecordError
from airwarrant.evaluate import Evaluator
from airwarrant.house.predict import Network, prepare
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.reading_records import parse_job, read_job
from airwarrant.job.record import Item, JobRecord
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.policy.model import Policy
from jobs import JOBS, POLICIES, SCENARIOS

MARKETS = market_names(POLICIES)
DATES = {"survey": date(2026, 7, 14)}


@pytest.fixture(scope="module", params=MARKETS)
def policy(request: pytest.FixtureRequest) -> Policy:
    return compose(POLICIES, request.param, DATES)


def head_filled(text: str) -> str:
    return text.replace('id = ""', 'id = "9"', 1).replace('survey = ""', "survey = 2026-07-14", 1)


def wholly_filled(parts: tuple[Part, ...], text: str) -> str:
    """The sheet with every key written: the first word, the middle of the usual range, the id of the kind's one item."""
    keys: Iterator[Any] = iter([key for part in parts for key in part.keys])
    block, out = "", []
    for line in head_filled(text).split("\n"):
        if match := re.match(r"#?(\[+([a-z.]+)\]+)", line):
            block = match[2]
            out.append(match[1])
        elif re.match(r"#[a-z_0-9]+ =", line):
            out.append(f"{line[1:].split(' =')[0]} = {_value(next(keys), block)}")
        else:
            out.append(line)
    assert next(keys, None) is None
    return "\n".join(out)


def _value(key: Any, block: str) -> str:
    if key.words:
        return f'"{key.words[0]}"'
    if key.name == "table":
        return "[[0.1, 1500], [0.9, 900]]" if "in. w.c." in key.title else "[[25, 700], [220, 420]]"
    if key.name == "power" and key.low is None:
        return "[500, 600]"
    if key.name == "checked":
        return "2026-03-01"
    if key.name == "fan_setting" or (key.name == "name" and "setting" in block):
        return '"high"'
    if key.name == "id":
        return f'"the-{block.rpartition(".")[2]}"'
    if match := re.search(r"id of a \[\[([a-z]+)\]\]", key.title):
        return f'"the-{match[1]}"'
    if key.low is not None:
        return f"{(key.low + key.high) / 2:.6g}"
    return '"something"'


@pytest.mark.parametrize("system", ["ip", "si"])
def test_a_blank_sheet_is_a_record_once_its_id_and_day_are_filled(policy: Policy, system: str) -> None:
    blank = blank_record(policy, system)
    with pytest.raises(RecordError) as refused:
        parse_job(blank.encode(), "job.toml")
    assert {fault.field for fault in refused.value.faults} == {"id", "dates.survey"}
    record = parse_job(head_filled(blank).encode(), "job.toml")
    assert record.market == policy.market.name
    assert set(record.items) == {HOUSE_KEY}
    assert not record.items[HOUSE_KEY].words


@pytest.mark.parametrize("system", ["ip", "si"])
def test_every_key_of_the_sheet_can_be_filled_as_it_says(policy: Policy, system: str) -> None:
    parts = survey(policy, system)
    record = parse_job(wholly_filled(parts, blank_record(policy, system)).encode(), "job.toml")
    asked = {(kind, name) for kind, name in reads_of(policy) if KINDS[kind].fields[name].section != "derived"}
    assert {one for one in asked if not _is_in(record, *one)} == set()


def _is_in(record: JobRecord, kind: str, name: str) -> bool:
    """Whether a record holds a field, as a word that is said, a number, a link or a reading."""
    item = record.items[HOUSE_KEY if kind == HOUSE_KEY else f"the-{kind}"]
    field = KINDS[kind].fields[name]
    if field.section == "visit":
        visit = record.visits[0]
        return name in visit.words if field.form == "word" else (item.key, name) in visit.readings
    return name in {**item.words, **item.links, **item.numbers, **(record.old if field.timed else {})}


def test_a_filled_sheet_can_be_decided_from(policy: Policy) -> None:
    record = parse_job(wholly_filled(survey(policy, "ip"), blank_record(policy, "ip")).encode(), "job.toml")
    with Evaluator(policy, detail=False) as evaluator:
        assert evaluator.run(record).verdicts


def test_the_sheet_asks_for_nothing_that_no_one_reads(policy: Policy) -> None:
    reads = reads_of(policy)
    texts = {"id", "name", "told", "photo", "model", "serial", "fan_setting", "kind", "checked", "table", "power"}
    for part in survey(policy, "ip"):
        kind = part.block.strip("[]").rpartition(".")[2]
        kind = kind if kind in KINDS else HOUSE_KEY
        links = {field.name for field in KINDS[kind].fields.values() if field.form == "link"}
        for key in part.keys:
            if key.name not in texts | links:
                either = {f.name for f in KINDS[kind].fields.values() if (f.key or f.name) == key.name}
                assert any((kind, name) in reads for name in either), (part.title, key.name)


def test_what_a_market_reads_more_is_asked_for_there_only() -> None:
    """A region without roof units or crawl spaces is not asked for them by name: the sheet follows the policy."""
    base = compose(POLICIES, "copper-basin", DATES)
    fewer = replace(base, rules={n: r for n, r in base.rules.items() if r.each != "elbow"})
    assert ("elbow", "roof_access") in words_read(base)
    assert ("elbow", "roof_access") not in words_read(fewer)


def test_hazards_come_first_and_the_new_unit_last(policy: Policy) -> None:
    blocks = [part.block for part in survey(policy, "ip") if part.block]
    assert blocks[0] == "[house]"
    assert blocks.index("[[zone]]") < blocks.index("[[room]]") < blocks.index("[old]") < blocks.index("[[visit]]")
    assert blocks[-1] == "[[new.blower.setting]]"
    titles = [part.title for part in survey(policy, "ip")]
    assert titles.index("Before anything else: is it safe here?") < titles.index("Readings")


def test_no_line_of_the_sheet_is_wider_than_a_page(policy: Policy) -> None:
    assert max(len(line) for line in blank_record(policy, "si").split("\n")) <= 124


# --- usual ranges


def test_every_number_has_a_usual_range_inside_what_a_record_may_hold(policy: Policy) -> None:
    assert unranged(policy) == ()
    usual = usual_ranges(policy)
    for kind in KINDS.values():
        for field in kind.fields.values():
            if field.form in ("reading", "number") and field.section != "derived":
                low, high = in_units(usual[field.name], field, "ip")
                assert field.hard is not None
                assert field.hard[0] <= low < high <= field.hard[1], f"{kind.name}.{field.name}"


# --- what the air model reads


class Watched(Mapping[Any, Any]):
    """A mapping that notes the keys it is asked for."""

    def __init__(self, held: Mapping[Any, Any], note: Any) -> None:
        self._held, self._note = held, note

    def __getitem__(self, key: Any) -> Any:
        self._note(key)
        return self._held[key]

    def __iter__(self) -> Iterator[Any]:
        return iter(self._held)

    def __len__(self) -> int:
        return len(self._held)

    def __contains__(self, key: Any) -> bool:
        self._note(key)
        return key in self._held


def watched(record: JobRecord, asked: set[tuple[str, str]]) -> JobRecord:
    def watch(kind: str, held: Mapping[str, Any]) -> Mapping[str, Any]:
        return Watched(held, lambda name: asked.add((kind, name)))

    def item(one: Item) -> Item:
        links, words, numbers = (watch(one.kind, held) for held in (one.links, one.words, one.numbers))
        return replace(one, links=links, words=words, numbers=numbers)

    items = MappingProxyType({key: item(one) for key, one in record.items.items()})

    def note(key: tuple[str, str]) -> None:
        asked.add((record.items[key[0]].kind, key[1]))

    visits = tuple(replace(visit, readings=Watched(visit.readings, note)) for visit in record.visits)
    old, new = watch(HOUSE_KEY, record.old), watch(HOUSE_KEY, record.new)
    return replace(record, items=items, visits=visits, old=old, new=new)


@pytest.mark.parametrize("job", JOBS)
def test_the_air_model_reads_no_field_that_the_survey_does_not_know_it_reads(job: str) -> None:
    record = read_job(SCENARIOS / f"job-{job}.toml")
    asked: set[tuple[str, str]] = set()
    policy = compose(POLICIES, record.market, record.dates)

    def predictor(_: JobRecord, *rest: Any) -> Network | None:
        return prepare(watched(record, asked), *rest)

    with Evaluator(policy, predictor) as evaluator:
        evaluator.run(record)
    fields = {(kind, name) for kind, name in asked if name in KINDS[kind].fields}
    # The total is read again from the two statics; a blower's kind stands in its own block.
    assert fields - {(kind, name) for kind, names in MODEL.items() for name in names} == set()


def test_what_the_survey_says_the_air_model_reads_stands_in_the_air_model() -> None:
    import airwarrant.house

    folder = Path(str(airwarrant.house.__file__)).parent
    text = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    for kind, names in MODEL.items():
        for name in names:
            # `f"{side}_duct_r"` and the like stand there in two parts.
            parts = (name, re.sub("^(supply|return)_", "", name), re.sub("_(supply|return)_", "_", name))
            found = any(re.search(rf'["_}}]{part}["\b]', text) for part in parts)
            assert found or name in ("blower_kind", "new_blower_kind"), (kind, name)
