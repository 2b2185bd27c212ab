"""The public surface is small, listed, and whole."""

import subprocess
import sys

import airwarrant


def test_every_public_name_can_be_had_and_is_documented() -> None:
    for name in airwarrant.__all__:
        assert getattr(airwarrant, name).__doc__, name


def test_no_name_has_a_home_that_is_not_listed() -> None:
    homes = {name for names in airwarrant._HOMES.values() for name in names}
    assert homes == set(airwarrant.__all__)


def test_asking_for_a_part_does_not_load_the_whole() -> None:
    code = "import sys, airwarrant.air.standard; sys.exit('pydantic' in sys.modules or 'airwarrant.session' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_shipped_example_runs_through_the_public_names() -> None:
    from airwarrant.shipped import shipped

    record = airwarrant.read_job(shipped("scenarios") / "job-5560.toml")
    with airwarrant.Session(shipped("policies")) as session:
        result = session.evaluate(record)
    assert airwarrant.why(result, result["lines"][0]["id"])
    assert len(airwarrant.digest(result)) == 64
