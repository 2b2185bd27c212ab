"""Each way in which a price book can be wrong: its code, its position, and what the owner is told."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_book import BASIS, BOOK
from small_folder import HEAD, MARKET, TRADE, marked, write

from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose

CHARGE = '[charge.c]\ntitle = "C"\n' + BASIS

#: (code, what the company's file holds with » where the fault is, words of the message)
BROKEN = [
    ("unknown-task", "»[price.undercut-dor]\nhours = 1\ncrew = \"team\"\n" + BASIS, "`undercut-door`"),
    ("unknown-crew", '[price.undercut-door]\ncrew = »"tem"\n', "`team`"),
    ("unknown-factor", '[price.undercut-door]\nfactors = [»"tyle"]\n', "`tile`"),
    ("unknown-item", '[price.undercut-door]\nmaterials = [{ item = »"scrw", per = "each", quantity = 1 }]\n', "`screw`"),
    ("unknown-word", '[factor.tile]\nwhen = [{ where = { roof_cover = »"tyle" } }]\n', "`tile`"),
    ("unknown-field", '[factor.tile]\nwhen = [{ where = { rof_cover = »"tile" } }]\n', "`roof_cover`"),
    ("unknown-field", '[factor.tile]\nbelow = { crawl_heigt = »"24 in" }\n', "`crawl_height`"),
    ("bad-quantity", '[factor.tile]\nbelow = { crawl_height = »"24in" }\n', "a number, a space and a unit"),
    ("unit-mismatch", '[factor.tile]\nbelow = { crawl_height = »"24 Pa" }\n', "pressure (Pa) against length"),
    ("not-here", '[factor.tile]\nwhen = [»{ check = "static", is = "fail" }]\n', "nothing that was judged"),
    ("out-of-range", "[factor.tile]\nmonths = [»13]\n", "1 to 12"),
    ("negative", "[factor.tile]\nvalue = »-1\n", "0 or more"),
    ("negative", "[crew.team]\nwage = »-40\n", "0 or more"),
    ("negative", "[item.screw]\ncost = »-3\n", "0 or more"),
    ("negative", "[item.pipe]\nby_size = [[6, 2], »[8, -3]]\n", "0 or more"),
    ("negative", "[price.undercut-door]\nhours = »-1\n", "0 or more"),
    ("negative", '[price.undercut-door]\nmaterials = [{ item = "screw", per = "each", quantity = »-2 }]\n', "0 or more"),
    ("negative", '[price.undercut-door]\nmaterials = [{ item = "screw", per = "each", quantity = 2, waste = »-5 }]\n', ""),
    ("negative", "[charge.permit]\ncost = »-10\n", "0 or more"),
    ("out-of-range", "[item.screw]\ncost = »0.00000001\n", "6 decimals"),
    ("out-of-range", "[item.screw]\ncost = »1e12\n", "1,000,000,000"),
    ("out-of-range", "[crew.team]\npeople = »0\n", "1 to 20"),
    ("out-of-range", "[parameter.price_margin]\nvalue = »100\n", "0 to 100"),
    ("out-of-range", "[parameter.price_unit_off_credit]\nvalue = »100\n", "0 to 100"),
    ("out-of-range", "[parameter.price_round_to]\nvalue = »0\n", ""),
    ("negative", "[parameter.price_labour_index]\nvalue = »-1\n", ""),
    ("unit-mismatch", '[parameter.price_margin]\nvalue = »0.48\nunit = "1"\n', "%"),
    ("unit-mismatch", '[price.undercut-door]\nmaterials = [{ item = "screw", per = »"ft", quantity = 2 }]\n', "per each, not per ft"),
    ("unit-mismatch", '[price.undercut-door]\nmaterials = [{ item = "board", per = "in2", quantity = »"undercut" }]\n',
     "length (in) against area"),
    ("unit-mismatch", '[price.undercut-door]\nmaterials = [{ item = "screw", per = "each", quantity = »"undercut" }]\n', "count (each)"),
    ("unit-mismatch", '[price.undercut-door]\nmaterials = [{ item = "board", per = "in2", quantity = »"count.room" }]\n', "area"),
    ("unknown-unit", '[item.screw]\nper = »"peice"\n', "each"),
    ("unknown-unit", '[item.pipe]\nsize_unit = »"inch"\n', "in"),
    ("unknown-field", '[price.undercut-door]\nmaterials = [{ item = "board", per = "in2", quantity = »"aria" }]\n', "`area`"),
    ("unknown-kind", '[price.undercut-door]\ntimes = »"count.rom"\n', "`room`"),
    ("unknown-size", '[price.undercut-door]\ntimes = »"size"\n', "no size"),
    ("missing-key", '[price.undercut-door]\nmaterials = [»{ item = "pipe", per = "ft", quantity = 2 }]\n', "by its size"),
    ("missing-key", '[price.undercut-door]\nmaterials = [»{ item = "screw", per = "each", quantity = 2, size = 6 }]\n', "every size"),
    ("missing-key", "[item.screw]\nby_size = »[[1, 2]]\n", "size_unit"),
    ("missing-key", "[price.undercut-door]\ntimes_otherwise = »2\n", "both or neither"),
    ("not-increasing", "[item.pipe]\nby_size = [[8, 2], »[6, 3]]\n", "grow"),
    ("missing-key", "[charge.c]\ntitle = \"C\"\nkind = »\"allowance\"\nshare = 4\n" + BASIS, "cap"),
    ("unknown-key", "[charge.permit]\nshare = »4\n", "cost"),
    ("required-discounted", CHARGE + 'kind = "discount"\nshare = 5\ntiers = ["optional", »"required"]\n', "law"),
    ("out-of-range", CHARGE + 'kind = "credit"\nshare = »120\nof_task = "seal-ducts"\n', "0 to 100"),
    ("unknown-task", CHARGE + 'kind = "credit"\nshare = 100\nof_task = »"seal-duct"\n', "`seal-ducts`"),
    ("unknown-task", '[charge.permit]\nwith_tasks = [»"seal-duct"]\n', "`seal-ducts`"),
    ("unknown-group", '[charge.permit]\nwith_groups = [»"sealling"]\n', "`sealing`"),
    ("unknown-word", '[charge.permit]\nkind = »"at-costs"\n', "`at-cost`"),
    ("unknown-word", '[price.undercut-door]\nedit = »"locked"\n', "company"),
    ("unknown-key", "[price.undercut-door]\n»hour = 1\n", "`hours`"),
    ("wrong-type", '[price.undercut-door]\nhours = »"1"\n', "a number"),
    ("unknown-name", "»[price.seal-ducts]\nhours = 1\n", "also has crew"),
    ("price-read", '[[check]]\nid = "static"\nlimit = »"@price_margin"\n', "price book"),
    ("price-read", '[[check]]\nid = "static"\ntimes = »"@price_labour_index"\n', "price book"),
    ("unknown-name", '[[remove]]\nname = »"item:scrw"\nwhy = "x"\n', "`screw`"),
]  # fmt: skip


def _faults(root: Path, market: str = "test") -> PolicyError:
    with pytest.raises(PolicyError) as caught:
        compose(root, market, {})
    return caught.value


def _folder(root: Path, own: str = "", trade: str = TRADE + BOOK) -> Path:
    return write(root, {"trade/2026-01-01/all.toml": trade, "companies/demo/2026-01-01/own.toml": HEAD + own})


def test_the_small_book_is_sound(tmp_path: Path) -> None:
    policy = compose(_folder(tmp_path), "test", {})
    assert policy.prices is not None
    assert set(policy.prices.prices) == {"undercut-door"}


@pytest.mark.parametrize(("code", "text", "word"), BROKEN, ids=[f"{i}-{c}" for i, (c, _, _) in enumerate(BROKEN)])
def test_a_fault_has_its_code_its_position_and_what_to_do(code: str, text: str, word: str, tmp_path: Path) -> None:
    error = _faults(_folder(tmp_path, text))
    found = [fault for fault in error.faults if fault.code == code]
    assert found, error
    where = {(fault.place.line, fault.place.column) for fault in found if fault.place}
    assert marked(HEAD + text) in where, (found, marked(HEAD + text))
    assert word in str(error)
    assert not [said for said in ("pydantic", "Input should", "validation error") if said in str(error)]


def test_a_fault_is_told_once(tmp_path: Path) -> None:
    for number, (_, text, _) in enumerate(BROKEN):
        error = _faults(_folder(tmp_path / str(number), text))
        assert len(error.faults) == len(set(error.faults)) <= 2, error


def test_prices_need_every_value_that_the_arithmetic_reads(tmp_path: Path) -> None:
    bare = TRADE + BOOK[BOOK.index("[crew.team]") :]
    error = _faults(_folder(tmp_path, trade=bare))
    assert {fault.code for fault in error.faults} == {"missing-value"}
    assert len(error.faults) == 7


@pytest.mark.parametrize("currency", ["", 'currency = ""\n'])
def test_a_market_names_its_currency(currency: str, tmp_path: Path) -> None:
    market = MARKET.replace('currency = "demo"\n', currency)
    root = write(_folder(tmp_path), {"markets/test.toml": market, "trade/2026-01-01/all.toml": TRADE + BOOK})
    assert "currency" in str(_faults(root))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            ["[price.undercut-door]\n", "[item.pipe]\n", "[factor.tile]\n", "[charge.permit]\n", "[crew.team]\n", "hours = 1e9\n",
             "hours = 0.1\n", "cost = 5e-7\n", "cost = 1e300\n", 'times = "size-99"\n', 'times = "house."\n', 'times = "count."\n',
             'times = "size-x"\n', "by_size = [[1, 1e308]]\n", "by_size = []\n", "months = []\n", "people = 99999999999\n",
             'kind = "work"\n', 'kind = "credit"\n', "share = 101\n", "materials = []\n", 'below = { storeys = "2 1" }\n',
             'any = [{ fact = "run", same = { room = "id" } }]\n', 'when = [{ fact = "run", same = {}, material = "flex" }]\n',
             "variant = [{ title = \"V\", when = [{ where = { use = \"bath\" } }] }]\n", 'size_unit = "F"\n', "value = 0\n"]
        ),
        max_size=5,
        unique=True,
    )
)  # fmt: skip
def test_whatever_is_put_into_a_book_the_answer_is_a_policy_or_a_policy_error(
    tmp_path_factory: pytest.TempPathFactory, parts: list[str]
) -> None:
    root = _folder(tmp_path_factory.mktemp("book"), "".join(parts))
    try:
        assert compose(root, "test", {}).digest
    except PolicyError as error:
        assert error.faults
