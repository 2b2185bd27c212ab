"""The difference of every pair of shipped markets: true both ways, empty against itself, and nothing that differs left out."""

import json
from itertools import combinations

import pytest

from airwarrant.desks.policy_diff import compose_sides, policy_diff
from airwarrant.desks.policy_diff_page import policy_diff_page
from airwarrant.desks.policy_diff_points import FOLDED, GROUPS
from airwarrant.desks.policy_diff_voice import Side
from airwarrant.desks.policy_diff_words import data_of
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.policy.history import blocks_of
from airwarrant.policy.model import AUTHORITIES
from jobs import POLICIES

MARKETS = market_names(POLICIES)
SIDES = dict(zip(MARKETS, compose_sides((POLICIES,), *((market, None) for market in MARKETS)), strict=True))
PAIRS = list(combinations(MARKETS, 2))


def _raw(side: Side) -> dict[tuple[str, str], dict[str, object]]:
    """What the files say of each block once the layers lie over each other, whatever the diff makes of it."""
    held = {
        (section, name): {key: sourced.value for key, sourced in block.keys.items()}
        for section, blocks in blocks_of(side.policy).items()
        for name, block in blocks.items()
    }
    said = {("said", n): {k: sourced.value for k, sourced in texts.items()} for n, texts in side.policy.said.items()}
    return held | said


@pytest.mark.parametrize("market", MARKETS)
def test_a_market_does_not_differ_from_itself(market: str) -> None:
    assert policy_diff(SIDES[market], SIDES[market]).differences == ()


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_both_ways_name_the_same_blocks_and_say_the_same_of_each_side(one: str, other: str) -> None:
    there, back = policy_diff(SIDES[one], SIDES[other]), policy_diff(SIDES[other], SIDES[one])
    assert [(d.group, d.section, d.name) for d in there.differences] == [
        (d.group, d.section, d.name) for d in back.differences
    ]
    mirrored = {"added": "removed", "removed": "added", "changed": "changed"}
    for first, second in zip(there.differences, back.differences, strict=True):
        assert (first.kind, first.readers, first.authority) == (mirrored[second.kind], second.readers, second.authority)
        forth = {(p.what, p.a, p.b) for p in (*first.points, *first.about)}
        assert forth == {(p.what, p.b, p.a) for p in (*second.points, *second.about)}


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_every_block_whose_text_differs_is_named_and_no_other(one: str, other: str) -> None:
    first, second = _raw(SIDES[one]), _raw(SIDES[other])
    differ = {key for key in first.keys() | second.keys() if first.get(key) != second.get(key)}
    named = {(d.section, d.name) for d in policy_diff(SIDES[one], SIDES[other]).differences if d.section != "market"}
    assert named == differ


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_every_difference_is_a_sentence_and_the_order_goes_by_weight(one: str, other: str) -> None:
    found = policy_diff(SIDES[one], SIDES[other])
    for difference in found.differences:
        assert difference.sentence.endswith("."), difference
        assert difference.sentence[0].isupper(), difference.sentence
        assert bool(difference.points) is (difference.group not in FOLDED) or difference.group == "wording"
    assert [d.group for d in found.differences] == sorted((d.group for d in found.differences), key=GROUPS.index)
    for group in GROUPS:
        ranks = [(*AUTHORITIES, "").index(d.authority) for d in found.group(group)]
        assert ranks == sorted(ranks)


@pytest.mark.parametrize("market", MARKETS)
def test_sharing_files_between_sides_changes_nothing_that_is_composed(market: str) -> None:
    alone = compose(POLICIES, market, {})
    assert SIDES[market].policy == alone
    assert SIDES[market].policy.digest == alone.digest


def test_the_page_and_the_data_hold_every_difference() -> None:
    found = policy_diff(SIDES["copper-basin"], SIDES["juniper-sill"])
    page, data = policy_diff_page(found), data_of(found)
    assert json.loads(json.dumps(data)) == data
    assert sum(len(group["differences"]) for group in data["groups"]) == len(found.differences)
    for difference in found.differences:
        assert f"{difference.section} {difference.name}" in page
    assert "http" not in page.replace("http://www.w3.org", "")
