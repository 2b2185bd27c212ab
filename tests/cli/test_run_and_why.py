"""The commands `airwarrant run` and `airwarrant why` as a person or a script meets them: words, files, exit statuses."""

import json
import os
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from airwarrant.errors import ResultError
from airwarrant.result.serial import read_result
from airwarrant.result.why import why
from airwarrant.shipped import shipped
from program import completed as _run

JOB = shipped("scenarios") / "job-1042.toml"
DONE, INPUT = 0, 2


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A result file, made once."""
    folder = tmp_path_factory.mktemp("result")
    done = _run("run", "job-1042", "--json", folder=folder)
    assert (done.returncode, done.stderr) == (DONE, "")
    (folder / "result.json").write_text(done.stdout, encoding="utf-8")
    return folder / "result.json"


# --- run: answers


def test_a_shipped_job_is_found_by_name_in_any_folder(tmp_path: Path) -> None:
    done = _run("run", "job-1042", folder=tmp_path)
    assert (done.returncode, done.stderr) == (DONE, "")
    assert done.stdout.startswith("Job 1042 — Copper Basin, hot-dry, demo data\nThe offer may go out.\n")
    assert "Nothing here replaces local code or licensed practice." in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_an_own_file_goes_before_a_shipped_job_of_the_same_name(tmp_path: Path) -> None:
    text = JOB.read_text(encoding="utf-8").replace('id = "1042"', 'id = "own"', 1)
    (tmp_path / "job-1042.toml").write_text(text, encoding="utf-8")
    assert _run("run", "job-1042.toml", folder=tmp_path).stdout.startswith("Job own ")


def test_a_json_record_yields_the_table_of_the_toml_record(tmp_path: Path) -> None:
    record = tomllib.loads(JOB.read_text(encoding="utf-8"))
    (tmp_path / "job.json").write_text(json.dumps(record, default=date.isoformat), encoding="utf-8")
    found, expected = (_run("run", job, folder=tmp_path) for job in ("job.json", JOB))
    assert (found.returncode, found.stdout) == (DONE, expected.stdout)


def test_si_units_are_shown_throughout_and_change_nothing_in_the_result(tmp_path: Path, result: Path) -> None:
    done = _run("run", "job-1042", "--units", "si", folder=tmp_path)
    assert done.returncode == DONE
    assert " L/s" in done.stdout
    assert [word for word in ("cfm", "in. w.c.", " ft", "in2") if word in done.stdout] == []
    same = _run("run", "job-1042", "--units", "si", "--json", folder=tmp_path)
    assert same.stdout == result.read_text(encoding="utf-8")


def test_another_market_is_taken_and_named(tmp_path: Path) -> None:
    done = _run("run", "job-1042", "--market", "fog-harbor", folder=tmp_path)
    assert (done.returncode, done.stdout.splitlines()[0]) == (DONE, "Job 1042 — Fog Harbor, marine, demo data")


def test_both_evaluators_agree_on_a_shipped_job(tmp_path: Path) -> None:
    assert _run("run", "job-2718", "--verify", folder=tmp_path).returncode == DONE


# --- run: result files


def test_the_result_and_its_inputs_are_written_side_by_side(tmp_path: Path, result: Path) -> None:
    done = _run("run", "job-1042", "--out", "made/here", "--no-pdf", folder=tmp_path)
    made = tmp_path / "made" / "here"
    assert done.returncode == DONE
    told = done.stderr.splitlines()
    assert told[0] == "wrote made/here/result-1042.json"
    assert told[-1] == "wrote 5 papers into made/here"
    assert sorted(one.name for one in made.iterdir()) == [
        "audit-1042.html",
        "lines-1042.xlsx",
        "proposal-1042.html",
        "result-1042.inputs.json",
        "result-1042.json",
        "test-out-1042.html",
        "work-order-1042.html",
    ]
    assert (made / "result-1042.json").read_text(encoding="utf-8") == result.read_text(encoding="utf-8")
    inputs = json.loads((made / "result-1042.inputs.json").read_text(encoding="utf-8"))
    assert inputs["record"] == {"file": "job-1042.toml", "text": JOB.read_text(encoding="utf-8")}
    assert inputs["market"] == "copper-basin"


def test_with_inputs_the_result_carries_record_and_policy_and_stays_the_same_result(
    tmp_path: Path, result: Path
) -> None:
    done = _run("run", "job-1042", "--with-inputs", "--json", "--out", ".", "--no-pdf", folder=tmp_path)
    found = json.loads(done.stdout)
    inputs = found.pop("inputs")
    assert found == json.loads(result.read_text(encoding="utf-8"))
    assert inputs["record"]["text"] == JOB.read_text(encoding="utf-8")
    for file, text in inputs["policy"].items():
        assert (shipped("policies") / file).read_text(encoding="utf-8") == text
    assert [one.name for one in tmp_path.glob("*.json")] == ["result-1042.json"]


@pytest.mark.parametrize("where", ["taken", "taken/below"])
def test_a_folder_that_cannot_be_made_is_a_fault_of_the_call(tmp_path: Path, where: str) -> None:
    (tmp_path / "taken").write_text("a file")
    done = _run("run", "job-1042", "--out", where, folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert f"`{where}`" in done.stderr
    assert "[cannot-write]" in done.stderr


# --- run: wrong calls and files


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nowhere/job.toml",), "There is no file `nowhere/job.toml`"),
        (("job-1043",), "Did you mean `job-1042`?"),
        (("nothing",), "Shipped scenarios: job-1042, job-2718, job-3390, job-4471, job-5560, job-wrong."),
        (("job-1042", "--market", "copper-basn"), "Did you mean `copper-basin`?"),
        (("job-1042", "--market", "../markets/copper-basin"), "[unknown-market]"),
        (("job-1042", "--policies", "nowhere"), "`nowhere` is not a folder"),
        (("job-1042", "--units", "kelvin"), "allowed: ip or si"),
        (("job-1042", "--no-such-option"), "--no-such-option"),
        ((), "`JOB` is missing"),
    ],
)
def test_a_wrong_call_says_what_may_stand_there(tmp_path: Path, words: Sequence[str], said: str) -> None:
    done = _run("run", *words, folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert said in done.stderr


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("empty.toml", b"", "empty.toml:1:1: format: `format` is missing"),
        ("empty.json", b"", "empty.json:1:1: "),
        ("binary.toml", bytes(range(256)) * 8, "binary.toml:2:118: A byte that is no character of UTF-8"),
        ("latin.toml", 'id = "\xe9"'.encode("latin-1"), "latin.toml:1:7: A byte that is no character of UTF-8"),
        ("nested.json", b"[" * 100_000, "[too-deep]"),
        ("large.toml", b"#" * 2_000_000, "[too-large]"),
        ("list.json", b"[]", "list.json:1:1: "),
        ("record.txt", b'format = "airwarrant/job/1"', "a name that ends in .toml or .json"),
    ],
)
def test_a_file_that_is_no_record_is_refused_with_its_place(tmp_path: Path, name: str, text: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(text)
    done = _run("run", name, folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert said in done.stderr


def test_a_folder_given_as_a_record_is_refused(tmp_path: Path) -> None:
    (tmp_path / "job.toml").mkdir()
    done = _run("run", "job.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert "[cannot-read]" in done.stderr


def test_every_fault_of_a_wrong_record_is_told_one_a_line(tmp_path: Path) -> None:
    done = _run("run", "job-wrong", folder=tmp_path)
    *faults, count = done.stderr.splitlines()
    assert (done.returncode, done.stdout, count) == (INPUT, "", f"{len(faults)} faults")
    assert len(faults) > 20
    assert [line for line in faults if not line.startswith("job-wrong.toml:") or not line.endswith("]")] == []


def test_a_broken_policy_folder_is_refused_with_its_place(tmp_path: Path) -> None:
    for name, text in (
        ("trade/2026-01-01/a.toml", '[policy]\ntitle = "T"\nreview_by = 2030-01-01\n[parameter.x]\nvalue = 0,10\n'),
        ("markets/copper-basin.toml", '[market]\ntitle = "M"\nlayers = ["trade"]\njurisdiction = ""\ncurrency = "x"\n'),
    ):
        (tmp_path / name).parent.mkdir(parents=True)
        (tmp_path / name).write_text(text)
    done = _run("run", "job-1042", "--policies", tmp_path, folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert done.stderr.startswith("trade/2026-01-01/a.toml:5:9: ")


# --- why


def test_a_line_is_explained_down_to_reading_and_policy(tmp_path: Path, result: Path) -> None:
    done = _run("why", result, "replace-elbow@roof-elbow", folder=tmp_path)
    assert (done.returncode, done.stderr) == (DONE, "")
    assert done.stdout.startswith("replace-elbow@roof-elbow — ")
    for place in ("job-1042.toml:", "rules-scope.toml:", "checks.toml:", "limits.toml:", "tables.toml:"):
        assert place in done.stdout


def test_every_line_and_every_left_out_line_has_an_answer(result: Path) -> None:
    found = read_result(result)
    names = [line["id"] for line in found["lines"]] + [entry["line"] for entry in found["declined"]]
    names += [f"{one['finding']}@{one['at']}" for one in found["findings"]]
    assert [name for name in names if len(why(found, name)) < 2] == []


def test_the_rows_of_an_answer_are_printed_as_json(tmp_path: Path, result: Path) -> None:
    rows = json.loads(_run("why", result, "seal-ducts@house", "--json", folder=tmp_path).stdout)
    assert [set(row) for row in rows] == [{"depth", "text", "place", "mark", "of"}] * len(rows)
    assert rows[0]["depth"] == 0


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("replace-elbow@rof-elbow", "Did you mean `replace-elbow@roof-elbow`?"),
        ("", "The lines of this result: test-in"),
    ],
)
def test_an_unknown_line_is_answered_with_the_nearest_or_all(
    tmp_path: Path, result: Path, name: str, said: str
) -> None:
    done = _run("why", result, name, folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert said in done.stderr


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (b"", "not-json"),
        (b"no json", "not-json"),
        (b"\xff\xfe\x00", "not-json"),
        (b"[" * 200_000, "not-json"),
        (b"[]", "not-a-result"),
        (b"null", "not-a-result"),
        (b'{"format": "airwarrant/job/1"}', "not-a-result"),
        (b'{"format": "airwarrant/result/2"}', "not-a-result"),
    ],
)
def test_a_file_that_is_no_result_is_refused(tmp_path: Path, text: bytes, code: str) -> None:
    (tmp_path / "r.json").write_bytes(text)
    done = _run("why", "r.json", "test-in@house", folder=tmp_path)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert f"[{code}]" in done.stderr
    assert "r.json" in done.stderr


def test_a_result_cut_short_is_refused_with_its_place(tmp_path: Path, result: Path) -> None:
    (tmp_path / "cut.json").write_bytes(result.read_bytes()[:5000])
    done = _run("why", "cut.json", "test-in@house", folder=tmp_path)
    assert done.returncode == INPUT
    assert done.stderr.startswith("cut.json:")


@pytest.mark.parametrize("name", ["nowhere.json", "."])
def test_a_result_that_cannot_be_read_is_a_fault_of_the_call(tmp_path: Path, name: str) -> None:
    done = _run("why", name, "test-in@house", folder=tmp_path)
    assert (done.returncode, "[unreadable]" in done.stderr) == (INPUT, True)


# --- pipes


@pytest.mark.skipif(os.name == "nt", reason="pipes of another kind")
@pytest.mark.parametrize("words", [("run", "job-1042"), ("run", "job-1042", "--json"), ("policy", "words")])
def test_a_reader_that_leaves_early_gets_no_complaint(tmp_path: Path, words: Sequence[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "airwarrant.cli.main", *words],
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    os.close(writing)
    assert done.stderr == ""


@pytest.mark.skipif(os.name == "nt", reason="pipes of another kind")
@pytest.mark.parametrize("words", [("run", "job-1042"), ("run", "job-1042", "--json"), ("policy", "words", "--json")])
def test_a_reader_that_leaves_early_is_no_answer_of_no(tmp_path: Path, words: Sequence[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "airwarrant.cli.main", *words]
    assert subprocess.run(command, stdout=writing, cwd=tmp_path, check=False).returncode == DONE
    os.close(writing)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_an_output_that_cannot_be_written_is_a_fault_of_the_call(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "airwarrant.cli.main", "run", "job-1042", "--json"]
    with open("/dev/full", "wb") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, cwd=tmp_path, check=False)
    assert (done.returncode, "[cannot-write]" in done.stderr) == (INPUT, True)


def test_a_pipe_gets_utf_8_whatever_the_locale(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "airwarrant.cli.main", "run", "job-1042"]
    env = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(command, capture_output=True, encoding="utf-8", cwd=tmp_path, env=env, check=False)
    assert (done.returncode, done.stdout.split("\n")[0]) == (DONE, "Job 1042 — Copper Basin, hot-dry, demo data")


@pytest.mark.parametrize("part", ["lines", "findings", "verdicts", "trace", "program"])
@pytest.mark.parametrize("spoiled", [None, [{}], {"a": 1}, "x", [1]])
def test_a_result_with_a_spoiled_part_is_refused(result: Path, tmp_path: Path, part: str, spoiled: object) -> None:
    found = json.loads(result.read_text(encoding="utf-8"))
    (tmp_path / "r.json").write_text(json.dumps({**found, part: spoiled}), encoding="utf-8")
    with pytest.raises(ResultError) as caught:
        read_result(tmp_path / "r.json")
    assert [fault.code for fault in caught.value.faults] == ["damaged-result"]


def test_a_folder_of_own_layers_may_name_the_shipped_ones(tmp_path: Path) -> None:
    own = tmp_path / "own" / "companies" / "demo-company" / "2026-06-01"
    own.mkdir(parents=True)
    head = '[policy]\ntitle = "Ours"\nreview_by = 2030-01-01\n'
    (own / "limits.toml").write_text(head + "[parameter.return_budget]\nvalue = 0.28\n")
    (tmp_path / "own" / "markets").mkdir()
    market = (shipped("policies") / "markets" / "copper-basin.toml").read_bytes()
    (tmp_path / "own" / "markets" / "copper-basin.toml").write_bytes(market)
    assert _run("policy", "check", "own", folder=tmp_path).returncode == DONE
    done = _run("run", "job-1042", "--policies", "own", "--json", folder=tmp_path)
    assert (done.returncode, done.stderr) == (DONE, "")
    layers = json.loads(done.stdout)["dates"]["layers"]
    assert {"layer": "companies/demo-company", "effective": "2026-06-01"} in layers
