"""What a policy difference says: values, rows, clauses, tasks, prices, texts, between markets and between dates."""

from pathlib import Path

import pytest
from small_folder import HEAD, MARKET, write

from airwarrant.desks.policy_diff import PolicyDiff, compose_sides, policy_diff, read_side
from airwarrant.errors import CallError, PolicyError

WET = MARKET.replace("regions/dry", "regions/wet").replace("Test market", "Wet market")
#: What the wet region says otherwise, and the sentence of it against the dry one.
SAYS = [
    ("", "parameter", "ceiling",
     "In wet, “Ceiling” is 0.6 in. w.c., from the trade layer of 2026-01-01; in test it is 0.7 in. w.c., from the dry layer of "
     "2026-01-01. So “Static” can fail sooner in wet."),
    ("[table.door_limit]\nrows = [[0, 4], [200, 5]]\n", "table", "door_limit",
     "In wet, “Door” from 0 cfm is 4 Pa, from the wet layer of 2026-01-01; in test it is 3 Pa, from the trade layer of 2026-01-01. "
     "Only in test, by the trade layer of 2026-01-01: “Door” also says 5 Pa from 150 cfm. "
     "Only in wet, by the wet layer of 2026-01-01: “Door” also says 5 Pa from 200 cfm."),
    ("[table.door_limit]\nrows = [[0, 5]]\n", "table", "door_limit",
     "In wet, “Door” from 0 cfm is 5 Pa, from the wet layer of 2026-01-01; in test it is 3 Pa, from the trade layer of 2026-01-01. "
     "Only in test, by the trade layer of 2026-01-01: “Door” also says 5 Pa from 150 cfm. So “Door pressure” fails later in wet."),
    ('[table.draft_limit]\nrows = [["water-heater", -1], ["with-furnace", -3], ["induced", -5], ["power-vent", -15], ["sealed", -25]]\n',
     "table", "draft_limit",
     "In wet, “Draft” for water-heater is -1 Pa, from the wet layer of 2026-01-01; in test it is -2 Pa, from the trade layer of "
     "2026-01-01. So “Draft” fails sooner in wet."),
    ('[[rule]]\nid = "scope.door"\nwhen = [{ finding = "pressed" }]\nunless = [{ carried = "seal-ducts" }]\n', "rule", "scope.door",
     "Only in test, by the trade layer of 2026-01-01: the rule “Undercut” also asks that the finding tight stands at the house. "
     "Only in wet, by the wet layer of 2026-01-01: the rule “Undercut” does not fire where the task seal-ducts was scoped in the "
     "round before."),
    ('[[rule]]\nid = "find.door"\nwhere = { use = ["bedroom", "living"] }\nauthority = "code"\n', "rule", "find.door",
     "In wet, the rule “Door” looks at each room whose use is bedroom or living, from the wet layer of 2026-01-01; in test it looks at "
     "each room whose use is bedroom, from the trade layer of 2026-01-01. In wet, the rule “Door” speaks for adopted law, from the wet "
     "layer of 2026-01-01; in test it speaks for practice, from the trade layer of 2026-01-01."),
    ('[[remove]]\nname = "task:seal-ducts"\nwhy = "not here"\n[[remove]]\nname = "rule:guard.draft"\nwhy = "not here"\n',
     "rule", "guard.draft",
     "Only in test, by the trade layer of 2026-01-01: the rule “Draft”. For each zone: when check “Draft” says fail, then every task of "
     "the group sealing is held until “it passes” (a hold named draft)."),
    ("[task.seal-ducts]\nunit_off = true\nafter = []\n", "task", "seal-ducts",
     "Only in test, by the trade layer of 2026-01-01: “Seal” comes after undercut-door. In wet, “Seal” is done with the unit off, from "
     "the wet layer of 2026-01-01; in test it is done with the unit running, from the trade layer of 2026-01-01."),
    ('[said.undercut-door]\nen = "Another text."\n', "said", "undercut-door",
     "In wet, the text `undercut-door` (en) is “Another text.”, from the wet layer of 2026-01-01; in test it is “The door of {name} "
     "pushes {door.reading}.”, from the trade layer of 2026-01-01."),
    ('[parameter.share]\nbasis = { kind = "published", cite = "A handbook", edition = "2020", unconfirmed = true }\n', "parameter", "share",
     "In wet, the source of “Share” is published: A handbook, edition 2020; not confirmed yet, from the wet layer of 2026-01-01; in "
     "test it is invented for the demo, from the trade layer of 2026-01-01."),
    ('[[check]]\nid = "static"\nmust_be = "below"\n', "check", "static",
     "Only in wet, by the wet layer of 2026-01-01: “Static” reads: For the house: external_static must be below the strictest of "
     "ceiling (0.6 in. w.c.), static_max. Inside the reading's ± it says close. Only in test, by the trade layer of 2026-01-01: "
     "“Static” reads: "
     "For the house: external_static must be at most the strictest of ceiling (0.7 in. w.c.), static_max. Inside the reading's ± it says "
     "close."),
]  # fmt: skip


def _found(folder: Path, *sides: str) -> PolicyDiff:
    first, second = compose_sides((folder,), *map(read_side, sides))
    return policy_diff(first, second)


def _sentence(found: PolicyDiff, section: str, name: str) -> str:
    return next(one.sentence for one in found.differences if (one.section, one.name) == (section, name))


@pytest.mark.parametrize(("text", "section", "name", "sentence"), SAYS)
def test_a_difference_is_one_plain_sentence(text: str, section: str, name: str, sentence: str, tmp_path: Path) -> None:
    folder = write(tmp_path, {"regions/wet/2026-01-01/limits.toml": HEAD + text, "markets/wet.toml": WET})
    assert _sentence(_found(folder, "test", "wet"), section, name) == sentence


def test_one_market_at_two_dates_says_what_becomes_begins_and_ends(tmp_path: Path) -> None:
    later = (
        HEAD
        + "[parameter.ceiling]\nvalue = 0.5\n[task.new-work]\ntitle = 'New work'\n"
        + '[[remove]]\nname = "figure:static_sum"\nwhy = "nobody reads it"\n'
    )
    folder = write(tmp_path, {"companies/demo/2027-01-01/own.toml": later})
    found = _found(folder, "test@2026-07-01", "test@2027-06-01")
    assert _sentence(found, "parameter", "ceiling").startswith(
        "“Ceiling” becomes 0.5 in. w.c. from 2027-01-01 on, by the demo layer; before that it is 0.7 in. w.c., from the dry layer of "
        "2026-01-01."
    )
    assert _sentence(found, "task", "new-work").startswith(
        "New from 2027-01-01 on, by the demo layer: the task “New work”"
    )
    assert _sentence(found, "figure", "static_sum").startswith("No longer on 2027-06-01, by the trade layer of")
    back = _found(folder, "test@2027-06-01", "test@2026-07-01")
    assert _sentence(back, "parameter", "ceiling").startswith("On 2026-07-01, “Ceiling” is 0.7 in. w.c., from the dry")
    assert _found(folder, "test@2026-07-01", "test@2026-12-31").differences == ()


def test_what_changes_nothing_on_a_job_stands_last_and_apart(tmp_path: Path) -> None:
    text = (
        HEAD
        + '[parameter.share]\nnote = "A note."\n[said.undercut-door]\nen = "Another text."\n[task.seal-ducts]\ntitle = "T"\n'
    )
    folder = write(tmp_path, {"regions/wet/2026-01-01/limits.toml": text, "markets/wet.toml": WET})
    found = _found(folder, "test", "wet")
    assert [(one.group, one.name) for one in found.differences] == [
        ("market", "layers"),
        ("limits", "ceiling"),
        ("sources", "share"),
        ("wording", "undercut-door"),
        ("wording", "seal-ducts"),
    ]


@pytest.mark.parametrize("text", ["test@", "test@2026-13-01", "test@20260101", "test@tomorrow"])
def test_a_day_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(CallError, match="a market, or a market and a day"):
        read_side(text)


def test_a_market_that_is_not_there_and_a_day_before_its_layers_are_refused(tmp_path: Path) -> None:
    folder = write(tmp_path)
    with pytest.raises(PolicyError, match="There is no market `tset`"):
        _found(folder, "test", "tset")
    with pytest.raises(PolicyError, match="holds nothing in force on 2025-01-01"):
        _found(folder, "test", "test@2025-01-01")
