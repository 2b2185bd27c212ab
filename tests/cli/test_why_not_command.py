"""The commands `why-not` and `near`: plain answers, and errors that say what to do."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from airwarrant.cli.main import app
from airwarrant.errors import CallError

RUN = CliRunner()


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("result") / "result-2718.json"
    made = RUN.invoke(app, ["run", "job-2718", "--json", "--with-inputs"])
    assert made.exit_code == 0
    target.write_text(made.stdout)
    return target


def said(result: Path, *args: str) -> str:
    answer = RUN.invoke(app, [args[0], str(result), *args[1:]], catch_exceptions=False)
    assert answer.exit_code == 0
    return answer.stdout


def test_a_held_line_says_who_holds_it_and_what_lifts_it(result: Path) -> None:
    text = said(result, "why-not", "seal-ducts@house")
    assert "held until: the combustion test passes (guard.draft, safety)" in text
    assert "-1.5 Pa instead of -4.6, 3.1 more (job-2718.toml:" in text
    assert "not allowed: Strongest pull allowed" in text


def test_a_line_left_out_says_by_how_much(result: Path) -> None:
    text = said(result, "why-not", "transfer-grille@bed-2")
    assert "inside the limit, ± 1, chance it meets it 1.00" in text
    assert "16.0 Pa instead of 6.0" in text
    assert "hot-dry/2026-01-01/limits.toml:" in text


def test_a_line_that_stands_is_told_so(result: Path) -> None:
    standing = next(one for one in json.loads(result.read_text())["lines"] if one["state"] == "scoped")
    assert "it is in the scope" in said(result, "why-not", standing["id"])


def test_a_place_of_another_kind_is_told_which_kinds_there_are(result: Path) -> None:
    text = said(result, "why-not", "seal-ducts@bed-2")
    assert "no rule asks for it here" in text
    assert "rules ask for it at: house" in text


def test_a_task_alone_asks_of_every_place_where_it_does_not_stand(result: Path) -> None:
    answers = json.loads(said(result, "why-not", "undercut-door", "--json"))
    assert [one["line"] for one in answers] == ["undercut-door@bed-2", "undercut-door@bed-3", "undercut-door@primary"]
    assert all(one["changes"] for one in answers)


@pytest.mark.parametrize(
    ("line", "code", "advice"),
    [("seal-duct", "unknown-task", "seal-ducts"), ("seal-ducts@closett", "unknown-place", "closet")],
)
def test_what_does_not_exist_is_refused_with_the_nearest(result: Path, line: str, code: str, advice: str) -> None:
    answer = RUN.invoke(app, ["why-not", str(result), line])
    assert isinstance(answer.exception, CallError)
    (fault,) = answer.exception.faults
    assert fault.code == code
    assert advice in fault.advice


def test_a_result_without_its_inputs_says_how_to_make_one_with_them(result: Path, tmp_path: Path) -> None:
    bare = json.loads(result.read_text())
    del bare["inputs"]
    (tmp_path / "bare.json").write_text(json.dumps(bare))
    answer = RUN.invoke(app, ["why-not", str(tmp_path / "bare.json"), "seal-ducts"])
    assert isinstance(answer.exception, CallError)
    assert "--with-inputs" in answer.exception.faults[0].advice


def test_a_line_the_homeowner_declined_comes_back_without_that(result: Path, tmp_path: Path) -> None:
    made = json.loads(result.read_text())
    line = next(one["id"] for one in made["lines"] if one["state"] == "scoped" and one["tier"] == "recommended")
    block = f'\n[[choice]]\nline = "{line}"\ndecision = "declined"\n'
    (tmp_path / "declined.toml").write_text(made["inputs"]["record"]["text"] + block)
    ran = RUN.invoke(app, ["run", str(tmp_path / "declined.toml"), "--json", "--with-inputs"])
    (tmp_path / "declined.json").write_text(ran.stdout)
    text = said(tmp_path / "declined.json", "why-not", line)
    assert "the record decides it: declined; it comes back without that  declined.toml:" in text


def test_near_lists_margin_doubt_and_chance(result: Path) -> None:
    text = said(result, "near")
    assert "Too close to call" in text
    listed = json.loads(said(result, "near", "--json"))
    assert {"margin", "band", "probability", "word", "lines"} <= listed[0].keys()
