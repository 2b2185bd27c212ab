"""The owner's figures of a few jobs, counted by hand beside each number."""

import json
import statistics
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.season.company import Figures, Gathering, gathered
from airwarrant.season.counting import Share, spread
from airwarrant.season.data import data_of
from airwarrant.season.job_figures import JobFigures, LeftOut, LineFigures, Missed
from airwarrant.season.words import middle, money, number, percent

RULES = {"a.fires": "Fires everywhere", "b.some": "Fires in some", "c.never": "Fires nowhere"}
CHECKS = {"static": "Total static"}


def line(task: str, amount: str | None, hours: str, cost: str | None, *, done: bool = True) -> LineFigures:
    money_of = [None if one is None else Decimal(one) for one in (amount, cost)]
    return LineFigures(task, task.capitalize(), done, Decimal(hours), money_of[0], money_of[1])


def job(name: str, market: str, day: date, **others: object) -> JobFigures:
    plain: dict[str, object] = {
        "measured_first": True,
        "no_work": False,
        "reread": False,
        "answers": (),
        "days": None,
        "before": {},
        "after": {},
        "tons": (3.0, 3.0),
        "targets": {},
        "unsafe": 0,
        "made_safe": 0,
        "missed": (),
        "rules": RULES,
        "checks": CHECKS,
        "close": frozenset(),
        "fired": frozenset(("a.fires",)),
        "near": frozenset(),
        "lines": (),
        "overridden": (),
        "declined": (),
    }
    return JobFigures(name, market, "demo", day, **{**plain, **others})  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def figures() -> Figures:
    return gathered(
        (
            job(
                "1",
                "north",
                date(2026, 6, 1),
                answers=("fail", "pass"),
                days=10,
                before={"external_static": 0.80, "airflow": 900.0, "register_flow": 800.0, "leakage_25": 200.0},
                after={"external_static": 0.60, "airflow": 1200.0, "register_flow": 1100.0, "leakage_25": 60.0},
                tons=(3.0, 3.0),
                targets={("static", "Total static"): True, ("leakage", "Leakage"): False},
                unsafe=2,
                made_safe=1,
                missed=(Missed("airflow", "Airflow", "cfm", 30.0, True), Missed("flow", "Room", "cfm", -4.0, False)),
                fired=frozenset(("a.fires", "b.some")),
                lines=(
                    line("seal", "100.50", "2.5", "50.25"),
                    line("seal", "99.50", "1.5", "49.75"),
                    line("hold", "1000", "9", "500", done=False),
                ),
                overridden=(LeftOut("elbow@house", "b.some", "estimator-1"),),
            ),
            job(
                "2",
                "north",
                date(2026, 7, 15),
                answers=("pass",),
                days=20,
                before={"external_static": 0.70, "airflow": 1000.0, "register_flow": 900.0},
                after={"external_static": 0.50, "airflow": 1000.0, "register_flow": 880.0},
                tons=(2.5, 2.5),
                targets={("static", "Total static"): True},
                missed=(Missed("airflow", "Airflow", "cfm", -10.0, True),),
                near=frozenset(("b.some",)),
                close=frozenset(("static",)),
                lines=(line("seal", "200", "4", "100"), line("grille", None, "1", None)),
                declined=(LeftOut("grille@house", "b.some", ""),),
            ),
            job("3", "south", date(2026, 5, 20), measured_first=False, no_work=True, reread=True),
            job("4", "south", date(2026, 8, 2), before={"external_static": 0.40}, no_work=True),
        )
    )


def test_rates_are_counted_over_jobs_and_over_those_tested_out(figures: Figures) -> None:
    whole = figures.markets[0]
    assert [one.market for one in figures.markets] == ["all", "north", "south"]
    assert whole.measured_first == Share(3, 4)
    assert whole.no_work == Share(2, 4)
    assert whole.reread == Share(1, 4)
    assert whole.tested_out == Share(2, 4)
    # Job 1 failed first and passed then; job 2 passed at once.
    assert (whole.passed_first, whole.conditional, whole.failed) == (Share(1, 2), Share(0, 2), Share(1, 2))
    assert whole.made_safe == Share(1, 2)
    north, south = figures.markets[1:]
    assert (north.jobs, north.measured_first, north.tested_out) == (2, Share(2, 2), Share(2, 2))
    assert (south.jobs, south.no_work, south.passed_first.percent) == (2, Share(2, 2), None)
    assert (figures.first, figures.last) == (date(2026, 5, 20), date(2026, 8, 2))


def test_before_and_after_take_only_jobs_that_have_both(figures: Figures) -> None:
    whole = figures.markets[0]
    before, after = whole.changes["external_static"]
    assert (before.count, before.median, after.median) == (2, pytest.approx(0.75), pytest.approx(0.55))
    # The fourth job was read before the work only: 0.40, 0.70, 0.80.
    assert (whole.before["external_static"].count, whole.before["external_static"].median) == (3, pytest.approx(0.70))
    # 900/3 = 300 and 1000/2.5 = 400 before; 400 and 400 after.
    tons = whole.changes["airflow_per_ton"]
    assert (tons[0].median, tons[1].median) == (pytest.approx(350.0), pytest.approx(400.0))
    # Gains of 300 and -20: mean and median 140.
    assert whole.gain is not None
    assert (whole.gain.count, whole.gain.mean) == (2, pytest.approx(140.0))
    assert whole.changes["leakage_25"][0].count == 1
    assert whole.days is not None
    assert whole.days.mean == 15.0


def test_prediction_errors_have_bias_and_spread(figures: Figures) -> None:
    airflow, room = figures.errors
    # 30 and -10: mean 10, deviation over n - 1 is sqrt(20^2 + 20^2) = 28.28.
    assert (airflow.title, airflow.off.mean) == ("Airflow", 10.0)
    assert airflow.off.deviation == pytest.approx(28.284, abs=1e-3)
    assert airflow.within == Share(2, 2)
    assert (room.off.count, room.off.deviation, room.within) == (1, 0.0, Share(0, 1))
    assert figures.targets == {"Leakage": Share(0, 1), "Total static": Share(2, 2)}


def test_money_and_hours_are_those_of_lines_to_be_done(figures: Figures) -> None:
    seal, grille = figures.tasks
    # Two lines of job 1 and one of job 2; the held line counts for nothing.
    assert (seal.task, seal.lines, seal.jobs) == ("seal", 3, Share(2, 4))
    assert (seal.hours, seal.amount, seal.cost) == (Decimal("8.0"), Decimal("400.00"), Decimal("200.00"))
    assert seal.margin == 50.0
    assert (grille.amount, grille.margin, grille.jobs) == (Decimal(0), None, Share(1, 4))
    whole, north, south = figures.markets
    assert whole.money == north.money == Decimal("400.00")
    assert (north.hours, south.money, whole.currency) == (Decimal("9.0"), Decimal(0), "demo")


def test_rules_that_fire_never_always_and_nearly(figures: Figures) -> None:
    always, some, never = figures.rules
    assert (always.hits, some.hits, never.hits) == (Share(4, 4), Share(1, 4), Share(0, 4))
    assert (some.near, some.overridden) == (Share(1, 4), Share(1, 4))
    assert [one.rule for one in figures.always] == ["a.fires"]
    assert [one.rule for one in figures.sometimes] == ["b.some"]
    assert [one.rule for one in figures.never] == ["c.never"]
    assert [one.close for one in figures.closest] == [Share(1, 4)]


def test_overrides_by_person_and_what_homeowners_declined(figures: Figures) -> None:
    assert figures.overridden == Share(1, 4)
    assert figures.people == {"estimator-1": 1}
    assert figures.declined == {"grille": 1}


@given(st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=2, max_size=40))
def test_spread_is_that_of_the_standard_library(values: list[float]) -> None:
    # statistics.quantiles with method="inclusive" is definition 7 of Hyndman and Fan, as its documentation says.
    found = spread(values)
    assert found is not None
    low, median, high = statistics.quantiles(values, n=4, method="inclusive")
    assert (found.low, found.median, found.high) == pytest.approx((low, median, high), rel=1e-9, abs=1e-6)
    assert found.mean == pytest.approx(statistics.fmean(values), rel=1e-9, abs=1e-6)
    assert found.deviation == pytest.approx(statistics.stdev(values), rel=1e-6, abs=1e-4)


def test_nothing_has_no_spread_and_no_share() -> None:
    assert spread(()) is None
    assert Share(0, 0).percent is None
    assert percent(Share(0, 0)) == "–"


def test_numbers_are_written_plainly() -> None:
    assert number(-0.004, 2, sign=True) == "0.00"
    assert number(1234.5, 1, sign=True) == "+1,234.5"
    assert number(-3.0, 0) == "−3"
    assert money(Decimal("1234.50"), "demo") == "1,234 demo"
    assert middle(None, 0) == ""


def test_one_job_counts_as_a_number_and_money_of_two_currencies_is_not_added_up() -> None:
    one = job("1", "north", date(2026, 6, 1), lines=(line("seal", "100", "1", "50"), line("seal", "50", "1", "25")))
    told = json.dumps(data_of(gathered([one]), (), date(2026, 6, 2)))
    assert '"some": true' not in told
    assert '"measured_first": {"some": 1, "of": 1}' in told
    several = gathered([one, replace(one, job="2", market="south", currency="peso")])
    whole, north, _ = several.markets
    assert (whole.money, whole.currency, north.money, north.currency) == (None, "", Decimal(150), "demo")
    assert (several.tasks[0].amount, several.tasks[0].margin, several.tasks[0].lines) == (None, None, 4)


def test_a_rule_is_overridden_once_a_job() -> None:
    twice = tuple(LeftOut(f"seal@{place}", "b.some", "estimator-1") for place in ("hall", "attic"))
    figures = gathered([job("1", "north", date(2026, 6, 1), overridden=twice)])
    assert next(one for one in figures.rules if one.rule == "b.some").overridden == Share(1, 1)
    assert figures.people == {"estimator-1": 2}


def test_figures_asked_for_twice_are_the_same() -> None:
    gathering = Gathering()
    gathering.add(job("1", "north", date(2026, 6, 1), lines=(line("seal", "100", "1", "50"),)))
    assert gathering.figures() == gathering.figures()
