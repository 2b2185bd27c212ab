"""What is said of which jobs a change can touch; who reads a value is worked out by hand from the shipped policy."""

from dataclasses import replace
from functools import cache

from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.replay.impact import Impact
from airwarrant.replay.impacts import impacts
from airwarrant.replay.layout import Layout
from airwarrant.shipped import shipped


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), "copper-basin", {})


def _of_value(name: str, times: float) -> Impact:
    a = _policy()
    moved = replace(a.parameters[name], value=float(a.parameters[name].value) * times)
    (impact,) = impacts(a, replace(a, parameters={**a.parameters, name: moved}), Layout(a))
    return impact


def test_a_value_that_no_limit_and_no_size_reads_touches_nobody() -> None:
    """The bend's radius is only what rows of tables were worked out with."""
    said = _of_value("return_bend_radius", 2.0)
    assert said.who == "nobody"
    assert said.cannot == "at all: no limit of a check and no size of a task reads it"


def test_a_value_that_only_sizes_lines_speaks_of_no_limit() -> None:
    said = _of_value("duct_step", 2.0)
    assert said.who == "some"
    assert said.cannot == "in which no line stands that it sizes (add-return, upsize-return)"


def test_a_value_that_is_a_limit_names_its_check() -> None:
    said = _of_value("wind_most", 2.0)
    assert said.who == "some"
    assert f"judged by “{_policy().checks['wind'].title}”" in said.cannot


def test_a_row_that_no_limit_reads_speaks_of_no_check() -> None:
    a = _policy()
    table = a.tables["usual_most_wind"]
    moved = replace(table, rows=tuple((key, answer * 2.0) for key, answer in table.rows))
    (said,) = impacts(a, replace(a, tables={**a.tables, table.name: moved}), Layout(a))
    assert said.cannot == "that never asked for that row"
