"""What a check rests on is followed through all that stands between: figures summed over a kind, and tables asked by a figure."""

from dataclasses import replace
from datetime import date

from airwarrant.policy.compose import compose
from airwarrant.policy.model import Figure, Limit, Policy, Ref
from airwarrant.policy.readers import readers_of
from airwarrant.policy.rests_on import below, check_refs
from airwarrant.replay.impacts import impacts
from airwarrant.replay.layout import Layout
from jobs import POLICIES


def _policy() -> Policy:
    """The check of total static judges a sum over rooms against a table that a figure asks."""
    policy = compose(POLICIES, "copper-basin", {"survey": date(2026, 7, 14)})
    like = policy.figures["return_size"]
    room = replace(
        like, name="room_part", each="room", unit="cfm", step="sum_of", refs=(Ref("field", "flow"),), over="", take=""
    )
    whole = replace(
        like, name="whole", each="house", unit="cfm", step="sum_over", refs=(), over="room", take="room_part"
    )
    asked = replace(
        like, name="asked", each="house", unit="ton", step="sum_of", refs=(Ref("field", "tons"),), over="", take=""
    )
    table = replace(policy.tables["return_diameter"], name="by_asked", by="asked", by_unit="ton", unit="cfm")
    check = replace(
        policy.checks["external-static"],
        reading=Ref("figure", "whole"),
        limits=(Limit(Ref("table", "by_asked")),),
        times=None,
    )
    figures: dict[str, Figure] = {**policy.figures, room.name: room, whole.name: whole, asked.name: asked}
    return replace(
        policy,
        figures=figures,
        tables={**policy.tables, table.name: table},
        checks={**policy.checks, check.name: check},
    )


def test_everything_below_a_check_is_named() -> None:
    policy = _policy()
    found = below(policy, check_refs(policy.checks["external-static"]))
    assert set(found) == {
        ("figure", "whole"), ("figure", "room_part"), ("field", "flow"), ("table", "by_asked"), ("figure", "asked"), ("field", "tons"),
    }  # fmt: skip


def test_who_reads_a_figure_that_is_summed_or_asks_a_table_is_told() -> None:
    policy = _policy()
    for name in ("room_part", "asked"):
        assert "external-static" in readers_of(policy, "figure", name).checks
    assert readers_of(policy, "figure", "room_part").figures == ("whole",)


def test_a_changed_figure_that_is_summed_is_within_reach_of_every_job() -> None:
    policy = _policy()
    changed = replace(policy.figures["room_part"], refs=(Ref("field", "flow"), Ref("field", "flow")))
    other = replace(policy, figures={**policy.figures, changed.name: changed}, digest="other")
    (impact,) = impacts(policy, other, Layout(policy))
    assert (impact.name, impact.who) == ("room_part", "everyone")
