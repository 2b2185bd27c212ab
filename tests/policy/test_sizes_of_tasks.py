"""Sizes in policy files: every fault with its place, sentences, who reads a value."""

from pathlib import Path

import pytest
from small_folder import HEAD, marked, write

from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.history import history
from airwarrant.policy.model import Policy
from airwarrant.policy.show_sizes import beside_sentence, task_sentence

ASK = 'calculate = "transfer-area"\ntake = "after_undercut_in2"\n'
WITH = '{ flow_cfm = "flow", limit_pa = "@door_limit", door_width_in = "door_width", undercut_in = "undercut" }'
SIZE = '[[task.undercut-door.size]]\ntitle = "S"\n'
GAP = SIZE + 'value = "undercut"\n'
PROOF = '[[task.undercut-door.size.prove]]\ntitle = "P"\n'
VELOCITY = 'calculate = "duct-friction"\ntake = "velocity_fpm"\n'
WIDE = '[table.wide]\ntitle = "T"\nedit = "company"\nbasis = { kind = "demo" }\n'
ROWS = 'by = "tons"\nby_unit = "ton"\nunit = "in"\nrows = [[2, 16], [3, 18]]\n'
BESIDE = WIDE + ROWS + '[[table.wide.beside]]\ntitle = "B"\n' + VELOCITY
DUCT = 'with = { flow_cfm = { product_of = ["key", "400 cfm/ton"] }, diameter_in = "answer", material = "flex" }\n'

FAULTS = [
    ("unknown-table", SIZE + 'table = »"door_limt"\n', "`door_limit`"),
    ("unknown-field", SIZE + 'value = »"undrcut"\n', "`undercut`"),
    ("unknown-name", SIZE + 'value = »"@ceilng"\n', "`ceiling`"),
    ("missing-key", "»" + SIZE, "calculate"),
    ("two-alternatives", "»" + SIZE + 'table = "door_limit"\nvalue = "undercut"\n', "one of them"),
    ("missing-key", "»" + SIZE + 'calculate = "transfer-area"\n', "together"),
    ("missing-key", "»" + SIZE + f'value = "door_width"\n{ASK}with = {WITH}\n', "larger"),
    ("missing-key", "»" + GAP + 'governs = "table"\n', "two sources"),
    ("missing-key", "»" + GAP + 'past_most = "several"\n', "without `most`"),
    ("missing-key", "»" + GAP + 'most = "1 in"\npast_most = "several"\n', "step"),
    ("unknown-word", GAP + 'most = "1 in"\npast_most = »"sevral"\n', "several"),
    ("unknown-key", GAP + '»governns = "table"\n', "governs"),
    ("unit-mismatch", GAP + 'step = »"1 in2"\n', "length"),
    ("unit-mismatch", GAP + 'most = »"@ceiling"\n', "length"),
    ("not-a-step", GAP + 'step = »"0 in"\n', "above 0"),
    ("not-a-step", GAP + 'step = »"door_width"\n', "above 0"),
    ("unit-mismatch", SIZE + f'value = "door_width"\ngoverns = "larger"\n'
     f'calculate = "transfer-area"\ntake = »"total_free_in2"\nwith = {WITH}\n',
     "area"),
    ("unknown-calculation", SIZE + 'calculate = »"transfer-aria"\ntake = "x"\nwith = { flow_cfm = "flow" }\n', "transfer-area"),
    ("unknown-key", SIZE + 'calculate = "transfer-area"\ntake = »"after_undercut_in"\nwith = ' + WITH + "\n", "after_undercut_in2"),
    ("missing-key", SIZE + ASK + 'with = »{ flow_cfm = "flow" }\n', "limit_pa"),
    ("unknown-key", SIZE + ASK + f"with = {WITH.replace('flow_cfm = ', 'flow_cm = »', 1)}\n", "flow_cfm"),
    ("unit-mismatch", SIZE + ASK + "with = " + WITH.replace('"flow"', '»"undercut"') + "\n", "length (in) against flow"),
    ("unit-mismatch", SIZE + ASK + "with = " + WITH.replace('"flow"', '»{ product_of = ["house.tons", "undercut"] }') + "\n", "flow_cfm"),
    ("unknown-field", SIZE + ASK + "with = " + WITH.replace('"flow"', '{ product_of = ["2 1", »"flw"] }') + "\n", "`flow`"),
    ("unknown-word", GAP + PROOF + VELOCITY + 'with = { flow_cfm = "flow", diameter_in = "size", material = »"flx" }\n', "flex"),
    ("missing-key", GAP + PROOF.replace("[[", "»[[", 1)
     + VELOCITY + 'with = { flow_cfm = "flow", diameter_in = "size", material = "flex" }\nmust_be = "at most"\n', "both"),
    ("unit-mismatch", GAP + PROOF + VELOCITY
     + 'with = { flow_cfm = "flow", diameter_in = "size", material = "flex" }\nmust_be = "at most"\nlimit = »"3 Pa"\n', "velocity"),
    ("unknown-key", GAP + PROOF + VELOCITY
     + 'with = { flow_cfm = "flow", diameter_in = "size", material = "flex" }\nshow = [»"los_inwc"]\n', "loss_inwc"),
    ("unknown-wording", GAP + 'if_unknown = »"undercut-dor"\n', "undercut-door"),
    ("unknown-wording", GAP + 'if_zero = »"undercut-dor"\n', "undercut-door"),
    ("word-table", WIDE + 'by = "use"\nunit = "in"\nrows = [["bedroom", 1]]\n'
     '[[table.wide.beside]]\ntitle = »"B"\n' + VELOCITY + DUCT, "words"),
    ("not-here", BESIDE + DUCT.replace('"answer"', '»"house.static_max"'), "belongs to a job"),
    ("unknown-word", BESIDE + DUCT.replace('"flex"', '»"felx"'), "flex"),
    ("unit-mismatch", BESIDE + DUCT.replace('{ product_of = ["key", "400 cfm/ton"] }', '»"key"'), "power (ton) against flow"),
]  # fmt: skip


def _own(tmp_path: Path, text: str) -> Path:
    return write(tmp_path, {"companies/demo/2026-01-01/own.toml": HEAD + text})


@pytest.mark.parametrize(("code", "text", "said"), FAULTS)
def test_a_fault_of_a_size_is_told_at_its_place(code: str, text: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(PolicyError) as caught:
        compose(_own(tmp_path, text), "test", {})
    (fault,) = caught.value.faults
    assert fault.code == code
    assert said in str(fault)
    place, mark = fault.place, marked(HEAD + text)
    assert place is not None
    assert mark is not None
    if code not in ("two-alternatives", "missing-key", "word-table"):
        assert (place.line, place.column) == mark, str(fault)
    else:  # of a block as a whole; the place is within it
        assert place.file == "companies/demo/2026-01-01/own.toml"
        assert place.line >= mark[0] - 1


@pytest.fixture
def policy(tmp_path: Path) -> Policy:
    velocity = 'must_be = "at most"\nlimit = "700 fpm"\notherwise = "next-size"\n'
    sizes = (
        SIZE
        + f'value = "door_width"\ngoverns = "larger"\nstep = "2 in"\nmost = "40 in"\npast_most = "several"\n{VELOCITY}'
    )
    sizes = sizes.replace(VELOCITY, 'calculate = "duct-size"\ntake = "stock_in"\n')
    sizes += 'with = { flow_cfm = "flow", friction_inwc_per_100ft = "0.06 in. w.c./100 ft", material = "flex" }\n'
    proof = PROOF + VELOCITY + 'with = { flow_cfm = "flow", diameter_in = "size", material = "flex" }\n' + velocity
    return compose(_own(tmp_path, sizes + proof + BESIDE + DUCT), "test", {})


def test_a_size_is_said_as_a_sentence(policy: Policy) -> None:
    assert task_sentence(policy, policy.tasks["undercut-door"]) == (
        "“S” is the larger of door_width and stock_in of duct-size (flow_cfm = flow, friction_inwc_per_100ft = 0.06 in. w.c./100 ft, "
        "material = flex), in steps of 2 in, at most 40 in, beyond it several equal ones whose areas add up. Proof “P”: velocity_fpm "
        "of duct-friction (flow_cfm = flow, diameter_in = the size, material = flex) must be at most 700 fpm, else the next size."
    )
    assert beside_sentence(policy, policy.tables["wide"].beside) == (
        "Beside each row: “B”: velocity_fpm of duct-friction (flow_cfm = the row's key × 400 cfm/ton, diameter_in = the row's answer, "
        "material = flex)."
    )


def test_a_task_without_sizes_says_nothing(policy: Policy) -> None:
    assert task_sentence(policy, policy.tasks["seal-ducts"]) == ""


def test_a_value_knows_the_tasks_it_sizes(tmp_path: Path) -> None:
    composed = compose(_own(tmp_path, SIZE + ASK + f"with = {WITH}\n"), "test", {})
    assert history(composed, "door_limit").tasks == ("undercut-door",)
    assert history(composed, "ceiling").tasks == ()


def test_a_digest_sees_a_size(tmp_path: Path) -> None:
    one = compose(_own(tmp_path / "a", GAP + 'step = "1 in"\n'), "test", {})
    other = compose(_own(tmp_path / "b", GAP + 'step = "2 in"\n'), "test", {})
    same = compose(_own(tmp_path / "c", "# a comment\n" + GAP + 'step = "1 in"\n'), "test", {})
    assert one.digest == same.digest != other.digest
