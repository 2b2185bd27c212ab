"""Layers, dates, provenance, rights of a later layer, the digest and the cache."""

from datetime import date
from pathlib import Path

import pytest
from small_folder import COMPANY, HEAD, MARKET, REGION, TRADE, write

import reading_once
from airwarrant.errors import PolicyError
from airwarrant.policy.access import names_of, parameter_read, row_of, table_read
from airwarrant.policy.cache import PolicyCache
from airwarrant.policy.compose import compose, overdue
from airwarrant.policy.files import read_sources
from airwarrant.policy.model import CheckClause, FindingClause, Policy

OWN = "companies/demo/2026-01-01/own.toml"


def _company(root: Path, text: str) -> Policy:
    return compose(write(root, {OWN: HEAD + text}), "test", {})


def test_a_later_layer_supersedes_value_by_value_and_remembers_what_it_overrode(tmp_path: Path) -> None:
    ceiling = _company(tmp_path, "[parameter.ceiling]\nvalue = 0.65\n").parameters["ceiling"]
    assert (ceiling.value, ceiling.unit, ceiling.title) == (0.65, "in. w.c.", "Ceiling")
    value = ceiling.keys["value"]
    assert (value.layer, str(value.place)) == ("companies/demo", f"{OWN}:5:9")
    assert [(o.value, o.layer, str(o.place)) for o in value.overrode] == [
        (0.6, "trade", "trade/2026-01-01/all.toml:6:9"),
        (0.7, "regions/dry", "regions/dry/2026-01-01/limits.toml:6:9"),
    ]
    assert ceiling.keys["unit"].layer == "trade"


def test_rows_of_a_table_are_replaced_as_a_whole(tmp_path: Path) -> None:
    table = _company(tmp_path, "[table.door_limit]\nrows = [[0, 15]]\n").tables["door_limit"]
    assert table.rows == ((0.0, 15.0),)
    assert table.between == "last-row-at-or-below"


def test_a_check_keeps_one_limit_when_a_later_layer_gives_another_kind(tmp_path: Path) -> None:
    check = _company(tmp_path, '[[check]]\nid = "static"\nlimit = "@ceiling"\n').checks["static"]
    assert (check.choose, len(check.limits)) == ("limit", 1)
    assert "strictest_limit" not in check.keys
    assert check.keys["limit"].overrode[0].value == ["@ceiling", "static_max"]


def test_a_rule_is_changed_by_id_key_by_key(tmp_path: Path) -> None:
    policy = _company(tmp_path, '[[rule]]\nid = "find.tight"\nwhen = [{ check = "static", is = ["fail", "close"] }]\n')
    rule = policy.rules["find.tight"]
    assert rule.when == (CheckClause("static", ("close", "fail")),)
    assert (rule.layer, rule.keys["when"].layer) == ("trade", "companies/demo")
    assert rule.clause_places["when", 0].file == OWN


def test_a_rule_is_taken_out_with_a_reason(tmp_path: Path) -> None:
    policy = _company(tmp_path, '[[remove]]\nname = "rule:scope.door"\nwhy = "We do not trim doors."\n')
    assert "scope.door" not in policy.rules


def test_dated_folders_apply_up_to_the_date_that_governs_their_layer(tmp_path: Path) -> None:
    root = write(tmp_path, {"companies/demo/2026-06-01/own.toml": HEAD + "[parameter.ceiling]\nvalue = 0.5\n"})

    def ceiling(**dates: date) -> float | str:
        return compose(root, "test", dates).parameters["ceiling"].value

    assert ceiling(survey=date(2026, 5, 31)) == 0.7
    assert ceiling(survey=date(2026, 6, 1)) == 0.5
    assert ceiling(survey=date(2026, 7, 1), proposal=date(2026, 5, 1)) == 0.7
    assert ceiling(survey=date(2026, 5, 1), permit=date(2026, 7, 1)) == 0.7
    assert ceiling() == 0.5


def test_a_market_says_which_date_governs_and_code_goes_by_the_permit(tmp_path: Path) -> None:
    code = (
        HEAD
        + '[parameter.per_code]\nvalue = 3\nbasis = { kind = "published", cite = "c", edition = "e", adopted = 2026-06-01 }\n'
    )
    market = MARKET.replace('"companies/demo"]', '"codes/county"]') + '[market.dates_by_layer]\nregions = "permit"\n'
    root = write(
        tmp_path,
        {
            "codes/county/2026-01-01/a.toml": HEAD,
            "codes/county/2026-06-01/a.toml": code,
            "regions/dry/2026-06-01/a.toml": HEAD + "[parameter.ceiling]\nvalue = 0.4\n",
            "markets/test.toml": market,
        },
    )
    late = compose(root, "test", {"survey": date(2026, 5, 1), "permit": date(2026, 7, 1)})
    early = compose(root, "test", {"survey": date(2026, 7, 1), "permit": date(2026, 5, 1)})
    assert (late.parameters["per_code"].value, late.parameters["ceiling"].value) == (3.0, 0.4)
    assert (early.parameters["per_code"].value, early.parameters["ceiling"].value) == (4.0, 0.7)
    assert ("codes/county", "2026-06-01") in late.layers


def test_a_job_before_the_first_folder_of_a_layer_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PolicyError) as caught:
        compose(write(tmp_path), "test", {"survey": date(2020, 1, 1)})
    assert {fault.code for fault in caught.value.faults} == {"not-in-force"}


def test_a_folder_that_is_no_date_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PolicyError, match="folder-name"):
        compose(write(tmp_path, {"companies/demo/2026-02-30/own.toml": HEAD}), "test", {})


def test_a_locked_value_may_move_to_the_safer_side_in_any_unit(tmp_path: Path) -> None:
    policy = _company(
        tmp_path,
        "[parameter.co_stop]\nvalue = 30\n[table.draft_limit]\nrows = "
        + ('[["water-heater", -1], ["with-furnace", -3], ["induced", -5], ["power-vent", -15], ["sealed", -25]]\n'),
    )
    assert policy.parameters["co_stop"].value == 30.0
    assert policy.tables["draft_limit"].rows[0] == ("water-heater", -1.0)


def test_a_locked_table_of_numbers_is_held_between_its_keys_too(tmp_path: Path) -> None:
    locked = TRADE.replace('title = "Door"\n', 'title = "Door"\nsafer = "lower"\n', 1)
    locked = locked.replace('above_last = "last-row"\nedit = "company"', 'above_last = "last-row"\nedit = "locked"')
    looser_between = "[table.door_limit]\nrows = [[0, 3], [50, 4], [150, 5]]\n"
    stricter = "[table.door_limit]\nrows = [[0, 2], [150, 3], [200, 4]]\n"
    assert compose(write(tmp_path / "a", {"trade/2026-01-01/all.toml": locked, OWN: HEAD + stricter}), "test", {})
    with pytest.raises(PolicyError, match=r"`door_limit` at 50 is locked at 3 Pa; a later layer makes it 4"):
        compose(write(tmp_path / "b", {"trade/2026-01-01/all.toml": locked, OWN: HEAD + looser_between}), "test", {})


def test_no_layer_at_all_may_go_beyond_a_floor_of_the_package(tmp_path: Path) -> None:
    loose = TRADE.replace("value = 35", "value = 36").replace('["sealed", -25]', '["sealed", -26]')
    with pytest.raises(PolicyError) as caught:
        compose(write(tmp_path, {"trade/2026-01-01/all.toml": loose}), "test", {})
    assert [fault.code for fault in caught.value.faults] == ["beyond-floor", "beyond-floor"]


def test_the_figure_under_a_locked_limit_is_as_fixed_as_the_limit(tmp_path: Path) -> None:
    trade = TRADE.replace(
        '[[check]]\nid = "static"',
        '[figure.gas]\ntitle = "Gas"\neach = "house"\nunit = "ppm"\nsize_of = "ambient_co"\n'
        '[[check]]\nid = "gas"\ntitle = "Gas"\neach = "house"\nreading = "gas"\nmust_be = "below"\nlimit = "@co_stop"\n'
        '[[check]]\nid = "static"',
    )
    own = HEAD + '[figure.gas]\nproduct_of = ["ambient_co", "0.1 1"]\n'
    with pytest.raises(PolicyError, match="right-breached"):
        compose(write(tmp_path, {"trade/2026-01-01/all.toml": trade, OWN: own}), "test", {})


def test_the_digest_is_of_the_meaning_and_of_nothing_else(tmp_path: Path) -> None:
    plain = compose(write(tmp_path / "a"), "test", {}).digest
    laid_out = TRADE.replace("value = 0.60", "# a comment\n\nvalue   =   0.6").replace(
        'title = "Test"', 'title = "Other"'
    )
    head, _, blocks = laid_out.partition("[task.undercut-door]")
    split = {"trade/2026-01-01/all.toml": head, "trade/2026-01-01/more.toml": HEAD + "[task.undercut-door]" + blocks}
    assert compose(write(tmp_path / "b", split), "test", {}).digest == plain
    noted = TRADE.replace('title = "Ceiling"', 'title = "Ceiling"\nnote = "why"')
    assert compose(write(tmp_path / "c", {"trade/2026-01-01/all.toml": noted}), "test", {}).digest == plain
    same = {"regions/dry/2026-01-01/limits.toml": HEAD, OWN: REGION}
    assert compose(write(tmp_path / "d", same), "test", {}).digest == plain
    for number, (old, new) in enumerate(
        [
            ("0.60", "0.61"),
            ('"below"', '"at most"'),
            ("pushes", "presses"),
            ('is = "fail"', 'is = "close"'),
            ("[150, 5]", "[150, 6]"),
        ]
    ):
        changed = {"trade/2026-01-01/all.toml": TRADE.replace(old, new), "regions/dry/2026-01-01/limits.toml": HEAD}
        base = compose(write(tmp_path / f"e{number}", {"regions/dry/2026-01-01/limits.toml": HEAD}), "test", {}).digest
        assert compose(write(tmp_path / f"f{number}", changed), "test", {}).digest != base


def test_a_finding_clause_without_of_looks_at_its_own_place_else_at_the_house(tmp_path: Path) -> None:
    rule = compose(write(tmp_path), "test", {}).rules["scope.door"]
    assert rule.when == (FindingClause("pressed", "own"), FindingClause("tight", "house"))


def test_a_market_may_take_layers_from_a_second_folder(tmp_path: Path) -> None:
    shipped = write(tmp_path / "shipped")
    own = tmp_path / "own"
    for name, text in ((OWN, HEAD + "[parameter.ceiling]\nvalue = 0.5\n"), ("markets/mine.toml", MARKET)):
        (own / name).parent.mkdir(parents=True)
        (own / name).write_text(text)
    assert compose((own, shipped), "mine", {}).parameters["ceiling"].value == 0.5
    assert compose((own, shipped), "test", {}).parameters["ceiling"].value == 0.5


def test_the_cache_composes_the_same_bytes_once_and_sees_every_change(tmp_path: Path) -> None:
    root = write(tmp_path)
    cache = PolicyCache(root, most=2)
    first = cache.policy("test", {"survey": date(2026, 5, 1)})
    reading_once.forget()  # it is the cache that remembers, not the tests
    assert cache.policy("test", {"survey": date(2026, 5, 2)}) is first
    (root / OWN).write_text(COMPANY + "[parameter.ceiling]\nvalue = 0.5\n")
    assert cache.policy("test", {"survey": date(2026, 5, 1)}).parameters["ceiling"].value == 0.5


def test_an_overdue_review_is_a_warning_on_the_day_it_is_asked_about(tmp_path: Path) -> None:
    sources = read_sources((write(tmp_path),), "test", {})
    assert overdue(sources, date(2030, 1, 1)) == ()
    late = overdue(sources, date(2030, 1, 2))
    assert {fault.code for fault in late} == {"review-overdue"}
    assert len(late) == 3


@pytest.mark.parametrize(
    ("key", "between", "answer"),
    [
        (150.0, "no-answer", (5.0, 1)),
        (100.0, "no-answer", None),
        (100.0, "next-row", (5.0, 1)),
        (100.0, "last-row-at-or-below", (3.0, 0)),
        (-1.0, "next-row", (3.0, 0)),
        (999.0, "next-row", (5.0, 1)),
    ],
)
def test_a_table_answers_between_its_rows_as_it_says(
    key: float, between: str, answer: tuple[float, int] | None
) -> None:
    rows: list[tuple[float | str, float]] = [(0.0, 3.0), (150.0, 5.0)]
    assert row_of(rows, key, between, "first-row", "last-row") == answer
    if answer and not 0.0 <= key <= 150.0:
        assert row_of(rows, key, between, "no-answer", "no-answer") is None


def test_every_value_is_given_with_what_was_read(tmp_path: Path) -> None:
    policy = compose(write(tmp_path), "test", {})
    parameter, read = parameter_read(policy, "ceiling")
    assert (parameter.value, read) == (0.7, ("ceiling", "value"))
    assert table_read(policy, "draft_limit", "induced") == ((-5.0, 2), ("draft_limit", "rows[2]"))
    assert table_read(policy, "draft_limit", "unknown") == (None, ("draft_limit", "rows"))
    assert names_of([read, ("draft_limit", "rows[2]"), ("draft_limit", "rows")]) == ("ceiling", "draft_limit")
    with pytest.raises(PolicyError, match="`ceiling`"):
        parameter_read(policy, "cieling")
    with pytest.raises(PolicyError, match="`draft_limit`"):
        table_read(policy, "draft_limits", "induced")
