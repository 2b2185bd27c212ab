"""Rules and checks said back, histories, the dictionary."""

from pathlib import Path

import pytest
from small_folder import HEAD, write

from airwarrant.errors import PolicyError
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.compose import compose
from airwarrant.policy.history import history
from airwarrant.policy.show import check_sentence, rule_sentence
from airwarrant.policy.vocabulary import dictionary

RULE = '[[rule]]\nid = "r"\ntitle = "T"\nstage = "scope"\n'
SENTENCES = [
    ("", "scope.door", "For each room: when the finding pressed stands at it, and the finding tight stands at the house, then the line "
     "undercut-door is recommended."),
    ("", "find.door", "For each room whose use is bedroom: when check “Door pressure” says fail, then the finding pressed stands."),
    (RULE + 'then = [{ target = "static", gate = true }]\n', "r",
     "For the house: always, then check “Static” is a target at test-out and hand-over waits for it."),
    (RULE + 'each = "platform"\nwhen = [{ fact = "zone", same = { id = "zone" }, return_leak_here = ["yes", "unknown"] }]\n'
     'then = [{ lift = "draft", for = "seal-ducts", why = "cure", of = "zone" }]\n', "r",
     "For each platform: when there is a zone whose id is its zone and return_leak_here is unknown or yes, then the hold draft of its "
     "zone is lifted for the task seal-ducts: “cure”."),
    (RULE + 'where = { fuel = "gas" }\nany = [{ some = "room", where = { use = "bedroom" }, check = "door", is = "fail" }, '
     '{ check = "static", is = ["fail", "close"], time = "predicted" }]\nunless = [{ none = "elbow" }, { carried = "seal-ducts" }]\n'
     'then = [{ hold = "group:sealing", until = "later", named = "h", when = "during-work" }, '
     '{ retest = "airflow", how = "again", when = "before-sale" }]\n', "r",
     "For the house, whose fuel is gas: when at least one of these holds: for some room whose use is bedroom check “Door pressure” says "
     "fail; or check “Static”, on what is predicted, says close or fail, unless there is no elbow, or the task seal-ducts was scoped in "
     "the round before, then every task of the group sealing is held until “later” (a hold named h), during the work; and the reading "
     "airflow is taken again: “again”, before the sale."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "name", "sentence"), SENTENCES)
def test_a_rule_is_said_as_one_plain_sentence(text: str, name: str, sentence: str, tmp_path: Path) -> None:
    policy = compose(write(tmp_path, {"companies/demo/2026-01-01/own.toml": HEAD + text}), "test", {})
    assert rule_sentence(policy, policy.rules[name]) == sentence


def test_a_check_is_said_with_the_values_in_force(tmp_path: Path) -> None:
    policy = compose(write(tmp_path), "test", {})
    assert check_sentence(policy, policy.checks["room-flow"]) == (
        "For each room: flow must be at least the loosest of target less share (20 %), target less 25 cfm. "
        "Inside the reading's ± it says close."
    )
    assert check_sentence(policy, policy.checks["static"]) == (
        "For the house: external_static must be at most the strictest of ceiling (0.7 in. w.c.), static_max. "
        "Inside the reading's ± it says close."
    )


def test_a_history_names_every_layer_newest_first_and_every_reader(tmp_path: Path) -> None:
    told = history(compose(write(tmp_path), "test", {}), "ceiling")
    assert [(s.value, s.layer, s.effective, s.in_force) for s in told.settings if s.key == "value"] == [
        (0.7, "regions/dry", "2026-01-01", True),
        (0.6, "trade", "2026-01-01", False),
    ]
    assert (told.section, told.checks, told.rules) == ("parameter", ("static",), ("find.tight",))


def test_a_name_that_is_nowhere_is_refused_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(PolicyError, match="`ceiling`"):
        history(compose(write(tmp_path), "test", {}), "ceilng")


def test_the_dictionary_holds_every_field_with_where_the_record_asks_for_it(tmp_path: Path) -> None:
    entries = dictionary(compose(write(tmp_path), "test", {}))
    fields = {(entry.section.split()[0], entry.name) for entry in entries if " " in entry.section}
    assert fields == {(kind.name, name) for kind in KINDS.values() for name in kind.fields}
    assert all(entry.where for entry in entries if " " in entry.section)
    held = {(entry.section, entry.name) for entry in entries}
    assert {("check", "door"), ("finding", "tight"), ("task", "seal-ducts"), ("group", "door"), ("unit", "cfm")} <= held
