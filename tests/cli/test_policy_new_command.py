"""The command `airwarrant policy new`, and a draft in the terminal, the result and the papers."""

import json
import subprocess
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from airwarrant.cli.papers import write_papers
from airwarrant.shipped import shipped
from program import completed

DONE, INPUT = 0, 2
LIVE = "live.toml"


def _run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return completed(*words, folder=folder)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("owner")
    done = _run(folder, "policy", "new", "umber-flat", "--from", "copper-basin", "--title", "Umber Flat", "--json")
    assert done.returncode == DONE, done.stderr
    told = json.loads(done.stdout)
    assert [one["file"] for one in told["to_fill_in"]].count("markets/umber-flat.toml") == 2
    assert all((folder / "policies" / file).is_file() for file in told["files"])
    live = (shipped("scenarios") / "job-1042.toml").read_text().replace("demo = true", "demo = false", 1)
    (folder / LIVE).write_text(live.replace('"copper-basin"', '"umber-flat"', 1))
    return folder


def test_a_name_is_taken_once(folder: Path) -> None:
    done = _run(folder, "policy", "new", "umber-flat", "--from", "copper-basin")
    assert (done.returncode, "[already-there]" in done.stderr) == (INPUT, True)


def test_check_warns_of_what_is_not_filled_in_and_a_live_job_is_refused_with_the_same_places(folder: Path) -> None:
    checked = json.loads(_run(folder, "policy", "check", "--json").stdout)
    places = {(one["file"], one["line"]) for one in checked["warnings"] if one["code"] == "unfilled"}
    assert len(places) == 12
    done = _run(folder, "run", LIVE)
    assert done.returncode == INPUT
    assert "[unfilled]" in done.stderr
    assert all(f"{file}:{line}:" in done.stderr for file, line in places)


def test_a_draft_says_so_everywhere(folder: Path) -> None:
    assert "DRAFT" in _run(folder, "run", LIVE, "--draft").stdout
    result = json.loads(_run(folder, "run", LIVE, "--draft", "--json").stdout)
    assert result["market"]["draft"] is True
    schema = json.loads((shipped("schemas") / "result.schema.json").read_text())
    assert not list(Draft202012Validator(schema).iter_errors(result))
    for language, word in (("en", "DRAFT"), ("es", "BORRADOR")):
        out = folder / language
        write_papers(result, out, language, "letter", (), False)
        pages = sorted(out.glob("*.html"))
        assert len(pages) >= 4
        assert all(word in page.read_text() for page in pages)
