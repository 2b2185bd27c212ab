"""Whatever is done to policy files, the answer is a policy or a `PolicyError`, never anything else."""

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_folder import FILES, HEAD, MARKET, TRADE, write

from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose
from airwarrant.shipped import shipped

OWN = "companies/demo/2026-01-01/own.toml"
_TOKENS = re.compile(r'"[^"]*"|[\w.-]+|[\[\]{}=,\n]')


def _outcome(root: Path, market: str = "test") -> None:
    try:
        said = compose(root, market, {}).digest
    except PolicyError as error:
        said = "".join(map(str, error.faults))
    assert said


@pytest.mark.parametrize("seed", range(6))
def test_a_mutated_file_gives_a_policy_or_a_policy_error(seed: int, tmp_path: Path) -> None:
    dice = random.Random(seed)
    tokens = _TOKENS.findall(TRADE)
    odd = [
        "-1",
        "[]",
        "{}",
        '""',
        "true",
        "1e400",
        "2026-01-01",
        '"@ceiling"',
        '"house.static_sum"',
        '"0.5 Pa"',
        "[[1]]",
        "\x00",
        '"é"',
    ]
    for _ in range(40):
        text = TRADE
        for _ in range(dice.randint(1, 3)):
            spot = dice.choice(list(_TOKENS.finditer(text)))
            text = text[: spot.start()] + dice.choice([*odd, *dice.sample(tokens, 6), ""]) + text[spot.end() :]
        _outcome(write(tmp_path, {"trade/2026-01-01/all.toml": text}))


@pytest.mark.parametrize("seed", range(4))
def test_a_mutated_shipped_file_gives_a_policy_or_a_policy_error(seed: int, tmp_path: Path) -> None:
    dice = random.Random(seed)
    own = shipped("policies")
    files = sorted(own.rglob("*.toml"))
    for path in files:
        held = tmp_path / path.relative_to(own)
        held.parent.mkdir(parents=True, exist_ok=True)
        held.write_text(path.read_text("utf-8"), "utf-8")
    markets = [path.stem for path in files if path.parent.name == "markets"]
    for _ in range(6):
        path = dice.choice(files)
        text = path.read_text("utf-8")
        spots = list(_TOKENS.finditer(text))
        spot, other = dice.choice(spots), dice.choice(spots)
        changed = tmp_path / path.relative_to(own)
        changed.write_text(text[: spot.start()] + other[0] + text[spot.end() :], "utf-8")
        _outcome(tmp_path, dice.choice(markets))
        changed.write_text(text, "utf-8")


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_give_a_policy_or_a_policy_error(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    root = write(tmp_path_factory.mktemp("bytes"))
    (root / OWN).write_bytes(HEAD.encode() + raw)
    _outcome(root)


_VALUES = st.recursive(
    st.one_of(
        st.integers(-5, 5).map(str),
        st.sampled_from(
            ['"x"', '"room"', '"@ceiling"', '"static"', "true", "2026-01-01", "0.5", '"task:seal-ducts"', '"use"']
        ),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda held: f"[{', '.join(held)}]"),
        st.dictionaries(
            st.sampled_from(
                [
                    "id",
                    "check",
                    "is",
                    "finding",
                    "some",
                    "where",
                    "of",
                    "same",
                    "fact",
                    "line",
                    "tier",
                    "hold",
                    "until",
                    "then",
                ]
            ),
            inner,
            max_size=3,
        ).map(lambda held: "{ " + ", ".join(f"{k} = {v}" for k, v in held.items()) + " }"),
    ),
    max_leaves=8,
)
_KEYS = st.sampled_from(
    ["value", "unit", "title", "rows", "by", "each", "reading", "limit", "where", "when", "any", "unless", "then", "groups", "after",
     "needs", "size", "en", "basis", "edit", "sum_of", "sum_over", "take", "times", "safer", "between"]
)  # fmt: skip
_NAMES = st.sampled_from(
    ["[parameter.ceiling]", "[parameter.co_stop]", "[table.door_limit]", "[table.draft_limit]", "[figure.static_sum]",
     '[[check]]\nid = "static"', '[[check]]\nid = "draft"', '[[rule]]\nid = "find.door"', "[task.seal-ducts]", "[said.undercut-door]",
     "[parameter]", "[[check]]", "[rule]", "[[remove]]", "[[policy]]", "[task]"]
)  # fmt: skip


@settings(max_examples=120, deadline=None)
@given(_NAMES, st.dictionaries(_KEYS, _VALUES, max_size=4))
def test_any_block_gives_a_policy_or_a_policy_error(
    tmp_path_factory: pytest.TempPathFactory, name: str, keys: dict[str, str]
) -> None:
    text = HEAD + name + "\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())
    _outcome(write(tmp_path_factory.mktemp("block"), {OWN: text}))


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 5000,
        HEAD + "x = " + "{ a = " * 3000,
        HEAD + "a" + ".a" * 4000 + " = 1\n",
        HEAD + "# " + "x" * 1_100_000,
        HEAD + "".join(f'[[rule]]\nid = "r{n}"\n' for n in range(501)),
        "\ufeff" + HEAD,
    ],
    ids=["brackets", "tables", "dots", "large", "rules", "bom"],
)
def test_huge_and_nested_files_are_bounded(text: str, tmp_path: Path) -> None:
    _outcome(write(tmp_path, {OWN: text}))


@pytest.mark.parametrize(
    "text", ["", "market = 1", "[market]", '[[market]]\ntitle = "x"', MARKET + "[x]\n", MARKET.replace("[", "", 1)]
)
def test_a_broken_market_file_is_a_policy_error(text: str, tmp_path: Path) -> None:
    with pytest.raises(PolicyError):
        compose(write(tmp_path, {"markets/test.toml": text}), "test", {})


def test_the_small_folder_itself_is_right(tmp_path: Path) -> None:
    assert len(compose(write(tmp_path), "test", {}).rules) == FILES["trade/2026-01-01/all.toml"].count("[[rule]]")
