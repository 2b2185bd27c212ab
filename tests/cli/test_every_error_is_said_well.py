"""Every code that the program can say has a call that makes it say it, and what it says follows "How an error reads" (DEVELOPERS.md)."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import apsw
import pytest
from broken_on_purpose import read_analysed, read_broken, said_by
from codes_in_source import read_codes
from pydantic import BaseModel, Field, ValidationError

from airwarrant.desks.analysis.codes import CODES as OF_ANALYSIS
from airwarrant.desks.policy_set_text import parsed
from airwarrant.errors import ArchiveError, PolicyError
from airwarrant.papers.pdf import _HOW
from airwarrant.policy.faults import shape_faults
from airwarrant.records.database import load_checksums
from airwarrant.records.head import entry_of
from airwarrant.source.document import read_toml
from jobs import POLICIES, SCENARIOS
from program import Called, call

HERE = Path(__file__).parent
CODES = read_codes()
BROKEN = {path.stem: read_broken(path) for path in sorted((HERE / "broken").glob("*.txt"))}
ANALYSED = {path.stem: path for path in sorted((HERE.parent / "desks" / "broken").glob("*.toml"))}
GUIDE = (POLICIES / "ERRORS.md").read_text("utf-8")
#: Codes that no file or call can bring about on this machine: each is brought about in the test named beside it.
MADE_HERE = {
    "no-pdf",
    "not-shipped",
    "not-allowed",
    "toml-syntax",
    "archive-busy",
    "damaged-entry",
    "newer-archive",
} | {"two-meanings"}
#: Characters of a sentence; a finding of the analysis also names a second place and the smallest job.
MOST, MOST_OF_A_FINDING = 200, 450
#: What no user should have to read: class names, Python's way to write a value, a library's own words.
_FOREIGN = re.compile(
    r"\b(None|True|False|dict|list|str|int|float|NoneType|PosixPath|Traceback|pydantic|tomllib|tomlkit|Errno|KeyError|ValueError)\b"
    r"|Input should|valid (string|number|integer)|validation error|<[a-z]+ |Error\b|\\u[0-9a-f]{4}|\b0x[0-9a-f]+\b|[{]'"
)


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A result of the main job with its inputs, and one without, each with its record and a test-out."""
    made = tmp_path_factory.mktemp("results")
    for name, more in (("result", ["--with-inputs"]), ("without-inputs", [])):
        folder = made / name
        folder.mkdir()
        for file in ("job-1042.toml", "test-out-1042.toml"):
            (folder / file).write_bytes((SCENARIOS / file).read_bytes())
        came = call(["run", "job-1042.toml", "--json", *more], folder)
        (folder / "result-1042.json").write_text(came.out, encoding="utf-8")
    return made


def test_every_code_in_the_source_was_followed() -> None:
    assert not CODES.lost


def test_every_code_has_a_broken_file_and_every_broken_file_a_code() -> None:
    made = BROKEN.keys() | ANALYSED.keys() | MADE_HERE
    assert made == CODES.inputs.keys(), sorted(made ^ CODES.inputs.keys())


def test_every_code_stands_once_in_the_guide_with_what_it_means() -> None:
    rows = re.findall(r"^\| `([a-z0-9-]+)` \| (.+) \|$", GUIDE, re.MULTILINE)
    assert {code for code, _ in rows} == CODES.inputs.keys() | CODES.program, sorted(
        {code for code, _ in rows} ^ (CODES.inputs.keys() | CODES.program)
    )
    assert len(rows) == len({code for code, _ in rows}) + len(CODES.program & CODES.inputs.keys())
    for code, means in rows:
        assert means[0].isupper() or means[0] == "`", code
        assert means.endswith("."), code


@pytest.mark.parametrize("code", BROKEN)
def test_the_program_says_it_and_says_it_well(code: str, tmp_path: Path, results: Path) -> None:
    broken = BROKEN[code]
    came = said_by(broken, tmp_path, results)
    lines = _lines(came, code)
    assert lines, f"{came.status}: {came.out}{came.err}"
    assert came.status in (1, 2) or "--on" in broken.head("call")[0], came
    if broken.at:
        assert any(line.startswith(f"{broken.at}: ") for line in lines), (broken.at, lines)
    for line in lines:
        _reads_well(line)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["audit", "list", "--last", "x"], "`x` for --last"),
        (["make-jobs", "ten", "--out", "jobs"], "`ten` for N"),
        (["run", "job-1042", "--json=3"], "`--json` takes no value"),
        (["run", "a", "b", "c"], "`b c` is too much"),
        (["run", "job-1042", "--market"], "`--market` is given no value"),
    ],
)
def test_a_wrong_call_says_what_was_typed(words: list[str], found: str, tmp_path: Path) -> None:
    came = call(words, tmp_path)
    assert came.status == 2
    assert found in came.err
    _reads_well(came.err.splitlines()[0])


def _lines(came: Called, code: str) -> list[str]:
    """The lines of a code; `policy check` answers on stdout, where a pipe is folded at a fixed width."""
    return [line for line in (*_whole(came.out), *_whole(came.err)) if line.endswith(f" [{code}]")]


def _whole(text: str) -> Iterator[str]:
    held = ""
    for line in text.splitlines():
        held = "" if re.match(r"\d+ (markets?, |faults?$|cases? run)", line) else f"{held} {line}" if held else line
        if re.search(r" \[[a-z0-9-]+\]$", held):
            yield held
            held = ""


def _reads_well(line: str, most: int = MOST) -> None:
    said = re.sub(r" \[[a-z0-9-]+\]$", "", line)
    after_place = re.sub(r"^(warning: )?([^ ]+:\d+:\d+: )?", "", said)
    sentence = re.sub(r"^[\w.\[\]-]+: ", "", after_place)
    plain = re.sub(r"`[^`]*`", "``", sentence)
    assert sentence[-1] in ".?!", said
    assert sentence == after_place or not sentence[:1].isupper(), f"what follows a field begins small: {said}"
    assert not _FOREIGN.search(plain), _FOREIGN.search(plain)
    assert len(sentence) <= most, (len(sentence), said)
    assert "; allowed: " in sentence or re.search(r"[.?!] [A-Z`\[]", sentence), (
        f"neither what is allowed nor what to do: {said}"
    )
    assert "  " not in said


@pytest.mark.parametrize("code", ANALYSED)
def test_what_the_analysis_finds_is_said_well(code: str, tmp_path: Path, results: Path) -> None:
    came = said_by(read_analysed(ANALYSED[code]), tmp_path, results)
    lines = _lines(came, code)
    assert lines, came.out
    assert came.status == (1 if OF_ANALYSIS[code] == "error" else 0)
    for line in lines:
        _reads_well(line, MOST_OF_A_FINDING)


def test_no_pdf(tmp_path: Path, results: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.papers.pdf.lacking", lambda: _HOW)
    came = call(["papers", str(results / "result" / "result-1042.json"), "--out", ".", "--pdf"], tmp_path)
    _said_once(came, "no-pdf")


def test_two_meanings_of_a_number_erase_nothing(tmp_path: Path) -> None:
    text = (SCENARIOS / "job-1042.toml").read_text("utf-8").replace('id = "1042"', 'id = "2"', 1)
    (tmp_path / "job.toml").write_text(text, "utf-8")
    for _ in range(2):
        assert call(["run", "job.toml", "--keep"], tmp_path).status == 0
    came = call(["audit", "erase", "2", "--why", "asked for", "--yes"], tmp_path)
    _said_once(came, "two-meanings")
    for name, entries in (("entry:2", [2]), ("job:2", [1, 2])):
        shown = call(["audit", "show", name, "--json"], tmp_path)
        assert [one["entry"]["number"] for one in json.loads(shown.out)] == entries
    for nothing in ("", "job:", "entry:", "entry:9"):
        assert call(["audit", "show", nothing], tmp_path).status == 2


@pytest.mark.parametrize("words", [["--size", "A3"], ["--language", "fr"]])
def test_papers_that_cannot_be_made_are_refused_before_anything_is_written(words: list[str], tmp_path: Path) -> None:
    came = call(["run", "job-1042", "--out", "papers", *words], tmp_path)
    assert came.status == 2
    assert not (tmp_path / "papers").exists()


def test_not_shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.shipped.files", lambda name: tmp_path / "airwarrant")
    monkeypatch.setattr("airwarrant.shipped.__file__", str(tmp_path / "airwarrant" / "shipped.py"))
    _said_once(call(["survey", "--market", "copper-basin"], tmp_path), "not-shipped")


def test_what_the_shape_refuses_for_a_reason_nobody_foresaw() -> None:
    class Shape(BaseModel):
        key: Annotated[int, Field(multiple_of=2)]

    document = read_toml(b"key = 3", "own.toml", error=PolicyError)
    with pytest.raises(ValidationError) as caught:
        Shape.model_validate(document.data)
    ((_, fault),) = shape_faults(caught.value, document, Shape)
    assert fault.code == "not-allowed"
    _reads_well(str(fault))


def test_a_file_that_the_writer_cannot_read() -> None:
    with pytest.raises(PolicyError) as caught:
        parsed("a = ", "companies/demo/2026-01-01/own.toml")
    assert [fault.code for fault in caught.value.faults] == ["toml-syntax"]
    _reads_well(str(caught.value))


def test_an_archive_that_another_program_writes_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert call(["run", "job-1042", "--keep"], tmp_path).status == 0
    monkeypatch.setattr("airwarrant.records.database.PATIENCE", 10)
    load_checksums()
    other = apsw.Connection(str(tmp_path / "airwarrant.sqlite"), vfs="cksmvfs")
    other.execute("BEGIN IMMEDIATE")
    try:
        _said_once(call(["run", "job-1042", "--keep"], tmp_path), "archive-busy")
    finally:
        other.close()


def test_an_archive_of_a_newer_program(tmp_path: Path) -> None:
    assert call(["run", "job-1042", "--keep"], tmp_path).status == 0
    load_checksums()
    other = apsw.Connection(str(tmp_path / "airwarrant.sqlite"), vfs="cksmvfs")
    other.execute("PRAGMA user_version = 99")
    other.close()
    _said_once(call(["audit", "list"], tmp_path), "newer-archive")


def test_an_entry_that_is_not_as_it_was_kept() -> None:
    with pytest.raises(ArchiveError) as caught:
        entry_of("{}")
    assert [fault.code for fault in caught.value.faults] == ["damaged-entry"]
    _reads_well(str(caught.value))


def _said_once(came: Called, code: str) -> None:
    (line,) = _lines(came, code)
    assert came.status == 2
    _reads_well(line)
