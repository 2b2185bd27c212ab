"""Near misses: what lies inside its guard band is listed, and the chance printed beside it is the share of draws that meet the limit."""

from math import sqrt
from random import Random

import pytest
from typer.testing import CliRunner

from airwarrant.cli.main import app
from airwarrant.desks.near import Near, near
from airwarrant.job.reading_records import read_job
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS

DRAWS = 4000


def found(job: str) -> tuple[Near, ...]:
    with Session(POLICIES) as session:
        return near(session.evaluate(read_job(SCENARIOS / f"job-{job}.toml")))


@pytest.mark.parametrize("job", JOBS)
def test_the_chance_is_the_share_of_draws_that_meet_the_limit(job: str) -> None:
    """Monte Carlo beside JCGM 106:2012, 7.2: reading and limit each normal, a ± at coverage 2 is two standard deviations.

    To 4.5 standard errors of the share; of every verdict that is listed.
    """
    record, random = read_job(SCENARIOS / f"job-{job}.toml"), Random(f"near {job}")
    listed = {one.verdict for one in found(job)}
    with Session(POLICIES) as session:
        run = session.evaluator(record).run(record)
    for verdict in run.verdicts.values():
        if verdict.id not in listed:
            continue
        reading, limit = verdict.reading, verdict.limit
        assert reading is not None
        assert limit is not None
        low = run.policy.checks[verdict.check].must_be in ("at most", "below")
        met = 0
        for _ in range(DRAWS):
            true = random.gauss(reading.value, reading.plus_minus / 2.0)
            bound = random.gauss(limit.value, limit.plus_minus / 2.0)
            met += true <= bound if low else true >= bound
        chance = verdict.probability or 0.0
        error = 4.5 * sqrt(max(chance * (1.0 - chance), 1e-3) / DRAWS)
        assert abs(met / DRAWS - chance) <= error, verdict.id


@pytest.mark.parametrize("job", JOBS)
def test_all_that_is_too_close_is_listed_most_open_first(job: str) -> None:
    with Session(POLICIES) as session:
        result = session.evaluate(read_job(SCENARIOS / f"job-{job}.toml"))
    listed = near(result)
    close = {verdict["id"] for verdict in result["verdicts"] if verdict["word"] == "close" and "margin" in verdict}
    assert close <= {one.verdict for one in listed}
    openness = [abs(one.probability - 0.5) for one in listed]
    assert openness == sorted(openness)
    assert all(abs(one.margin) < one.band or one.word == "close" for one in listed)


def test_what_a_close_verdict_decides_stands_beside_it() -> None:
    drop = next(one for one in found("1042") if one.verdict == "filter-drop@house/found")
    assert (drop.word, drop.lines, drop.when) == ("close", ("enlarge-filter-grille@house",), "during-work")


def test_the_printed_margin_is_that_of_the_printed_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    # 164.6 - 161.4 = 3.2 cfm: printed whole, 165 and 161 are 4 apart.
    one = Near("v", "c", "Air", "house", "found", "close", 161.4, 164.6, "at most", "cfm", 3.2, 20.0, 0.6, "a.toml:1:1")
    monkeypatch.setattr("airwarrant.cli.near.read_result", lambda path: {})
    monkeypatch.setattr("airwarrant.cli.near.near_of", lambda result: (one,))
    said = " ".join(CliRunner().invoke(app, ["near", "result.json"]).stdout.split())
    assert "161 cfm, at most 165 cfm asked; 4 cfm inside, ± 20" in said
