"""The command `airwarrant calc`: its answers and exit statuses."""

import json
import subprocess
import sys
from pathlib import Path

from program import completed


def _run(*words: str) -> subprocess.CompletedProcess[str]:
    return completed("calc", *words)


def test_json_has_inputs_with_defaults_outputs_source_and_range() -> None:
    done = _run("flex-compression", "diameter_in=6", "compression_pct=30", "--json")
    assert done.returncode == 0
    found = json.loads(done.stdout)
    assert list(found) == ["calculation", "inputs", "outputs", "source", "valid", "warnings"]
    assert found["inputs"] == {"diameter_in": 6.0, "compression_pct": 30.0}
    assert round(found["outputs"]["factor"], 2) == 9.17


def test_a_wrong_call_ends_with_2_and_says_the_key() -> None:
    done = _run("door-pressure", "flow_cfm=-3", "free_area=2")
    assert done.returncode == 2
    assert "flow_cfm" in done.stderr
    assert "Did you mean `free_area_in2`?" in done.stderr


def test_si_answers_in_si() -> None:
    found = json.loads(_run("sensible-heat", "flow_l_s=100", "delta_k=10", "--units", "si", "--json").stdout)
    assert list(found["outputs"]) == ["heat_w"]


def test_a_file_gives_inputs_and_units(tmp_path: Path) -> None:
    file = tmp_path / "branches.toml"
    file.write_text(
        'units = "ip"\nnode_pressure_inwc = 0.25\n[[branch]]\nid = "den"\nmeasured_cfm = 120\ndesign_cfm = 100\n'
        '[[branch]]\nid = "hall"\nmeasured_cfm = 60\ndesign_cfm = 80\n',
        encoding="utf-8",
    )
    found = json.loads(_run("balance", f"@{file}", "--json").stdout)
    assert found["outputs"]["key_branch"] == "hall"
    assert [b["flow_cfm"] for b in found["outputs"]["branches"]] == [75.0, 60.0]


def test_a_missing_or_broken_file_ends_with_2(tmp_path: Path) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text("a = [", encoding="utf-8")
    assert [_run("balance", f"@{path}").returncode for path in (tmp_path / "none.toml", broken)] == [2, 2]


def test_the_list_names_every_calculation_with_its_keys() -> None:
    from airwarrant.calculations.registry import CALCULATIONS

    shown = _run("--list").stdout
    assert all(name in shown for name in CALCULATIONS)
    assert [row["calculation"] for row in json.loads(_run("--list", "--json").stdout)] == list(CALCULATIONS)


def test_out_of_range_warns_on_stderr_and_ends_with_0() -> None:
    done = _run("airflow-modifiers", "flow_fraction=0.6")
    assert done.returncode == 0
    assert "outside its valid range" in done.stderr


def test_a_factor_that_is_judgement_is_a_note_and_not_a_range() -> None:
    done = _run("fitting-loss", "fitting=elbow-two-plane", "velocity_fpm=900", "height_ratio=3")
    assert done.returncode == 0
    assert "note: interaction 1.5 is engineering judgement" in " ".join(done.stderr.split())
    assert "outside its valid range" not in done.stderr


def test_si_warns_in_si() -> None:
    done = _run("flex-compression", "diameter_mm=508", "compression_pct=4", "--units", "si")
    assert "152 to 406 mm" in done.stderr
    assert " in." not in done.stderr


def test_a_network_of_ducts_prints_each_links_law(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text(
        '[[node]]\nid = "house"\npressure = 0.0\n[[link]]\nid = "return"\nfrom = "house"\nto = "inlet"\nmaterial = "flex"\n'
        'diameter_in = 16\nlength_ft = 25\ncompression_pct = 4\n[[link]]\nid = "supply"\nfrom = "outlet"\nto = "house"\n'
        'k = 1.5e-7\n[blower]\nfrom = "inlet"\nto = "outlet"\ntable = [[0.2, 1300], [0.4, 1240], [0.6, 1130]]\n',
        encoding="utf-8",
    )
    found = json.loads(_run("network", f"@{file}", "--json").stdout)
    assert found["valid"]
    assert found["outputs"]["links"]["supply"] == {"k": 1.5e-07, "exponent": 2.0}
    shown = _run("network", f"@{file}").stdout
    assert "return  k " in shown
    assert "{" not in shown


def test_other_commands_do_not_load_the_formulas() -> None:
    code = "import sys, airwarrant.cli.main; sys.exit('airwarrant.calculations.registry' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
