"""Each way in which a policy file can be wrong: its code, its position, its advice."""

from pathlib import Path

import pytest
from small_folder import HEAD, MARKET, TRADE, marked, write

from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose

RULE = '[[rule]]\nid = "r"\ntitle = "T"\nstage = "scope"\n'
ROOM = RULE + 'each = "room"\n'
THEN = 'then = [{ finding = "x" }]\n'
CHECK = '[[check]]\nid = "c"\ntitle = "T"\neach = "house"\n'
AT_MOST = 'must_be = "at most"\n'
FIGURE = '[figure.f]\ntitle = "T"\neach = "house"\n'
VALUE = 'title = "T"\nedit = "company"\nbasis = { kind = "demo" }\n'
TABLE = "[table.t]\n" + VALUE

#: (code, what the company's file holds with » where the fault is, a word of the message)
BROKEN = [
    ("decimal-comma", "[parameter.ceiling]\nvalue = »0,10\n", "0.10"),
    ("percent-sign", "[parameter.share]\nvalue = »10%\n", "unit"),
    ("not-finite", "[parameter.ceiling]\nvalue = »nan\n", ""),
    ("unknown-key", "[parameter.ceiling]\n»vlue = 0.5\n", "`value`"),
    ("unknown-key", '[said.undercut-door]\n»fr = "x"\n', "en, es"),
    ("unknown-key", '[said.find.»tight]\nen = "x"\n', "quotes"),
    ("missing-key", RULE + 'then = [»{ line = "undercut-door" }]\n', "tier"),
    ("wrong-type", '[parameter.share]\nunit = »5\n', "text in quotes"),
    ("wrong-type", "[parameter.ceiling]\nvalue = »true\n", "a number"),
    ("wrong-type", '[[check]]\nid = "static"\nacceptance = »"yes"\n', "true or false"),
    ("wrong-type", '[[check]]\nid = "static"\nreview_by = »2026-01-01T00:00:00\n', "a date"),
    ("unknown-word", '[parameter.ceiling]\nedit = »"compny"\n', "`company`"),
    ("unknown-word", RULE + 'when = [{ check = "static", is = »"fial" }]\n' + THEN, "`fail`"),
    ("unknown-form", RULE + 'when = [»{ chek = "static", is = "fail" }]\n' + THEN, "`check`"),
    ("unknown-form", RULE + 'then = [{ hold = »"sealing", until = "x" }]\n', "group:sealing"),
    ("bad-name", "[parameter.»Ceiling]\nvalue = 1\n", "small letter"),
    ("bad-name", '[[remove]]\nname = »"ceiling"\nwhy = "x"\n', "parameter:static_ceiling"),
    ("too-many", "", ""),
    ("unknown-name", "»[parameter.ceilling]\nvalue = 0.5\n", "`ceiling`"),
    ("unknown-name", '[[remove]]\nname = »"rule:find.tigt"\nwhy = "x"\n', "`find.tight`"),
    ("unknown-name", '[[check]]\nid = "static"\nlimit = »"@ceilin"\n', "`ceiling`"),
    ("duplicate-id", "[parameter.ceiling]\nvalue = 0.5\n", ""),
    ("two-alternatives", CHECK + 'reading = "airflow"\n'
     + AT_MOST + 'limit = "1 cfm"\nstrictest_limit = »["1 cfm", "2 cfm"]\n', "limit"),
    ("two-alternatives", '[[check]]\nid = "room-flow"\nlimit = »{ of = "target", less = "1 cfm", more = "1 cfm" }\n', "less"),
    ("unknown-unit", '[parameter.share]\nunit = »"percent"\n', "%"),
    ("word-or-number", '[parameter.share]\nvalue = »"many"\n', "number"),
    ("not-a-choice", '[parameter.moment]\nvalue = »"before-sail"\n', "`before-sale`"),
    ("mixed-keys", '[table.door_limit]\nrows = [[0, 3], »["x", 5]]\n', "by_unit"),
    ("not-increasing", "[table.door_limit]\nrows = [[5, 3], »[5, 4]]\n", "grow"),
    ("duplicate-key", TABLE + 'by = "use"\nunit = "Pa"\nrows = [["bedroom", 1], »["bedroom", 2]]\n', "one row"),
    ("word-table", TABLE + 'by = "use"\nunit = "Pa"\nrows = [["bedroom", 1]]\nbetween = »"next-row"\n', "by_unit"),
    ("unknown-word", TABLE + 'by = "use"\nunit = "Pa"\nrows = [»["bedrom", 1]]\n', "`bedroom`"),
    ("unknown-field", TABLE + 'by = »"uze"\nunit = "Pa"\nrows = [["bedroom", 1]]\n', "`use`"),
    ("basis-incomplete", '[parameter.ceiling]\nbasis = »{ kind = "published", cite = "x" }\n', "edition"),
    ("basis-incomplete", '[parameter.per_code]\nvalue = 3\nbasis = »{ kind = "published", cite = "x", edition = "y" }\n', "adopted"),
    ("unknown-kind", ROOM.replace('"room"', '»"roon"') + THEN, "`room`"),
    ("unknown-field", '[[check]]\nid = "static"\nreading = »"external_statik"\n', "`external_static`"),
    ("unknown-field", '[[check]]\nid = "door"\nlimit = »"external_static"\n', "house.external_static"),
    ("unknown-field", RULE + 'where = { bloer_kind = »"fixed-speed" }\n' + THEN, "`blower_kind`"),
    ("unknown-field", RULE + 'then = [{ retest = »"extrnal_static", how = "x", when = "before-sale" }]\n', "`external_static`"),
    ("not-a-number", '[[check]]\nid = "static"\nlimit = »"@moment"\n', "number"),
    ("not-a-number", '[[check]]\nid = "static"\nreading = »"filter_state"\n', "number"),
    ("not-a-reading", '[[check]]\nid = "static"\nreading = »"0.5 in. w.c."\n', "number or figure"),
    ("bad-quantity", '[[check]]\nid = "static"\nlimit = »"0.5in. w.c."\n', "0.5 in. w.c."),
    ("by-reading", TABLE
     + 'by = "reading"\nunit = "in. w.c."\nrows = [["airflow", 1]]\n' + '[[check]]\nid = "static"\nlimit = »"@t"\n', ""),
    ("unit-mismatch", '[[check]]\nid = "static"\nlimit = »"3 ft"\n', "length (ft) against pressure"),
    ("unit-mismatch", '[[check]]\nid = "static"\ntimes = »"3 ft"\n', "%"),
    ("unit-mismatch", FIGURE + 'unit = "in. w.c."\nsum_of = »["return_static", "airflow"]\n', "pressure against flow"),
    ("unit-mismatch", FIGURE + 'unit = "cfm"\nratio_of = »["airflow", "tons"]\n', "does not give"),
    ("unit-mismatch", FIGURE + 'unit = "%"\nshare_of = »["airflow", "tons"]\n', "like against like"),
    ("unknown-field", FIGURE + 'unit = "in2"\nsum_over = "grille"\ntake = »"gros"\n', "`gross`"),
    ("duplicate-name", '»[figure.airflow]\ntitle = "T"\neach = "house"\nunit = "cfm"\nsize_of = "register_flow"\n', ""),
    ("duplicate-name", '»[table.ceiling]\n' + VALUE + 'by = "use"\nunit = "Pa"\nrows = [["bedroom", 1]]\n', "all.toml"),
    ("cycle", '[figure.g]\ntitle = "T"\neach = "house"\nunit = "cfm"\nsum_of = ["f", "airflow"]\n»'
     + FIGURE + 'unit = "cfm"\nsum_of = ["g", "airflow"]\n', "made from itself"),
    ("cycle", '[task.undercut-door]\nafter = »["seal-ducts"]\n', "after itself"),
    ("number-in-rule", RULE + 'where = { airflow = »"fail" }\n' + THEN, "check"),
    ("link-in-where", RULE + 'each = "run"\nwhere = { room = »"bed-2" }\n' + THEN, "of"),
    ("unknown-word", ROOM + 'where = { use = »"bedrom" }\n' + THEN, "`bedroom`"),
    ("unknown-check", RULE + 'when = [{ check = »"statc", is = "fail" }]\n' + THEN, "`static`"),
    ("unknown-finding", RULE + 'when = [{ finding = »"tigt" }]\n' + THEN, "`tight`"),
    ("unknown-line", RULE + 'when = [{ line = »"seal-ducts" }]\n' + THEN, "asks for"),
    ("unknown-task", RULE + 'then = [{ line = »"seal-duct", tier = "optional" }]\n', "`seal-ducts`"),
    ("unknown-task", RULE + 'when = [»{ carried = "seal-duct" }]\n' + THEN, "`seal-ducts`"),
    ("unknown-task", RULE + 'then = [{ decline = »"task:seal-duct", because = "x" }]\n', "`seal-ducts`"),
    ("unknown-group", RULE + 'then = [{ decline = »"group:doors", because = "x" }]\n', "`door`"),
    ("unknown-hold", RULE + 'then = [{ lift = »"drafd", for = "seal-ducts", why = "x" }]\n', "`draft`"),
    ("unknown-link", RULE + 'each = "run"\nwhen = [{ check = "door", is = "fail", of = »"rom" }]\n' + THEN, "`room`"),
    ("unknown-link", RULE + 'each = "run"\nthen = [{ finding = "x", at = »"rom" }]\n', "`room`"),
    ("wrong-kind", RULE + 'when = [{ check = »"door", is = "fail" }]\n' + THEN, 'some = "room"'),
    ("wrong-kind", RULE + 'when = [{ finding = »"pressed" }]\n' + THEN, 'some = "room"'),
    ("wrong-kind", RULE + 'when = [{ some = "zone", finding = »"pressed" }]\n' + THEN, "zone"),
    ("wrong-kind", RULE + 'when = [{ some = »"room", check = "static", is = "fail" }]\n' + THEN, "a check of a room"),
    ("wrong-kind", ROOM + 'when = [{ fact = "run", same = { room = »"use" } }]\n' + THEN, "equal"),
    ("missing-key", RULE + 'when = [{ some = »"room", check = "door" }]\n' + THEN, "both or neither"),
    ("doubt-circle", RULE + 'when = [»{ check = "static", is = "fail" }]\nthen = [{ doubt = "external_static", to = "@share" }]\n',
     "external_static"),
    ("doubt-circle", RULE + 'when = [»{ finding = "tight" }]\nthen = [{ doubt = "airflow", to = "@share" }]\n', "where"),
    ("unknown-table", '[task.seal-ducts]\nsize = [{ title = "S", table = »"door_limt" }]\n', "`door_limit`"),
    ("unknown-wording",
     '[task.seal-ducts]\nsize = [{ title = "S", table = "door_limit", if_unknown = »"undercut-dor" }]\n', "undercut-door"),
    ("unknown-finding", '[task.seal-ducts]\nneeds = [{ task = "undercut-door", while_finding = »"tigt" }]\n', "`tight`"),
    ("bad-hole", '[said.undercut-door]\nen = »"{0.__class__}"\n', "{name}"),
    ("bad-hole", '[said.undercut-door]\nen = »"{door.reading:>9}"\n', "{name}"),
    ("bad-hole", '[said.undercut-door]\nen = »"{dor.reading}"\n', "`door`"),
    ("bad-hole", '[said.undercut-door]\nen = »"50 } cents"\n', "lone"),
    ("right-breached", "[parameter.co_stop]\nvalue = »40\n", "trade/2026-01-01/all.toml:28:9"),
    ("right-breached", '[parameter.co_stop]\nunit = »"%"\n', "trade/2026-01-01/all.toml"),
    ("right-breached", '[parameter.co_stop]\nedit = »"company"\n', "trade/2026-01-01/all.toml"),
    ("right-breached", '[parameter.co_stop]\nsafer = »"higher"\n', "trade/2026-01-01/all.toml"),
    ("right-breached", '[[remove]]\nname = »"parameter:co_stop"\nwhy = "x"\n', "trade/2026-01-01/all.toml"),
    ("right-breached", '[[remove]]\nname = »"check:draft"\nwhy = "x"\n', "trade/2026-01-01/all.toml"),
    ("right-breached", '[[check]]\nid = "draft"\nlimit = »"-40 Pa"\n', "part of a locked limit"),
    ("right-breached", '[[check]]\nid = "draft"\ndoubt = »"ignore"\n', "part of a locked limit"),
    ("right-breached", '[table.draft_limit]\nrows = »[["water-heater", -2], ["with-furnace", -3], ["induced", -6],'
     ' ["power-vent", -15], ["sealed", -25]]\n', "induced"),
    ("right-breached", '[table.draft_limit]\nrows = »[["water-heater", -2]]\n', "takes the answer away"),
    ("beyond-floor", "[parameter.co_stop]\nvalue = »40\n", "pinned"),
    ("code-needs-source", "[parameter.per_code]\nvalue = »6\n", "cite"),
]  # fmt: skip


def _faults(root: Path, market: str = "test") -> PolicyError:
    with pytest.raises(PolicyError) as caught:
        compose(root, market, {})
    return caught.value


@pytest.mark.parametrize(("code", "text", "word"), BROKEN, ids=[f"{i}-{c}" for i, (c, _, _) in enumerate(BROKEN)])
def test_a_fault_has_its_code_its_position_and_what_to_do(code: str, text: str, word: str, tmp_path: Path) -> None:
    if code == "too-many":
        clauses = ", ".join(['{ check = "static", is = "fail" }'] * 7)
        code, text, word = "too-long", RULE + f"when = »[{clauses}]\n" + THEN, "at most 6"
    files = {"companies/demo/2026-01-01/own.toml": HEAD + text}
    if code == "duplicate-id":
        files["companies/demo/2026-01-01/twice.toml"] = HEAD + "»" + text
    error = _faults(write(tmp_path, files))
    found = [fault for fault in error.faults if fault.code == code]
    assert found, error
    named = {name: marked(held) for name, held in files.items() if marked(held)}
    where = {(fault.place.file, (fault.place.line, fault.place.column)) for fault in found if fault.place}
    assert where & set(named.items()), (found, named)
    assert word in str(error)


def test_all_faults_of_all_files_come_at_once(tmp_path: Path) -> None:
    root = write(
        tmp_path,
        {
            "trade/2026-01-01/all.toml": TRADE.replace("value = 0.60", "value = 0,60"),
            "regions/dry/2026-01-01/limits.toml": HEAD + "[parameter.ceiling]\nvlue = 1\n",
            "companies/demo/2026-01-01/own.toml": HEAD + '[parameter.x]\nvalue = 1\nunit = "furlong"\n' + VALUE,
        },
    )
    assert {fault.code for fault in _faults(root).faults} == {"decimal-comma", "unknown-key", "unknown-unit"}


def test_a_broken_block_makes_no_other_name_unknown(tmp_path: Path) -> None:
    root = write(tmp_path, {"trade/2026-01-01/all.toml": TRADE.replace('must_be = "below"', 'must_be = "blow"')})
    assert [fault.code for fault in _faults(root).faults] == ["unknown-word"]


def test_no_word_of_a_validator_reaches_an_owner(tmp_path: Path) -> None:
    for number, (code, text, _) in enumerate(BROKEN):
        if not text or code == "duplicate-id":
            continue
        root = write(tmp_path / str(number), {"companies/demo/2026-01-01/own.toml": HEAD + text})
        said = str(_faults(root))
        assert not [word for word in ("pydantic", "Input should", "validation error", "Tag", "<check>") if word in said]


@pytest.mark.parametrize(
    ("layer", "code"),
    [
        ("../x", "bad-layer"),
        ("trade/../../etc", "bad-layer"),
        ("/etc", "bad-layer"),
        ("companies/../trade", "bad-layer"),
        ("companies/demo/2026-01-01", "bad-layer"),
        ("companies\\\\demo", "bad-layer"),
        ("companies/dmo", "unknown-layer"),
        ("companies/", "bad-layer"),
    ],
)
def test_a_layer_name_never_leaves_the_folder(layer: str, code: str, tmp_path: Path) -> None:
    root = write(tmp_path, {"markets/test.toml": MARKET.replace("companies/demo", layer)})
    assert [fault.code for fault in _faults(root).faults] == [code]


@pytest.mark.parametrize("name", ["../test", "markets/test", "", "/etc/passwd", "TEST", "."])
def test_a_market_name_never_leaves_the_folder(name: str, tmp_path: Path) -> None:
    assert [fault.code for fault in _faults(write(tmp_path), name).faults] == ["unknown-market"]


@pytest.mark.parametrize("kind", ["file", "folder", "layer", "loop", "directory"])
def test_a_link_out_of_the_folder_is_refused(kind: str, tmp_path: Path) -> None:
    root, outside = write(tmp_path / "policies"), tmp_path / "outside" / "2027-01-01"
    outside.mkdir(parents=True)
    (outside / "secret.toml").write_text(HEAD)
    own = root / "companies" / "demo"
    if kind == "file":
        (own / "2026-01-01" / "link.toml").symlink_to(outside / "secret.toml")
    elif kind == "folder":
        (own / "2027-01-01").symlink_to(outside)
    elif kind == "loop":
        (own / "2026-01-01" / "link.toml").symlink_to(own / "2026-01-01" / "link.toml")
    elif kind == "directory":
        (own / "2026-01-01" / "x.toml").mkdir()
    else:
        for path in sorted(own.rglob("*"), reverse=True):
            path.unlink() if path.is_file() else path.rmdir()
        own.rmdir()
        own.symlink_to(outside.parent)
    codes = {fault.code for fault in _faults(root).faults}
    assert codes == {"unreadable" if kind in ("loop", "directory") else "outside-policies"}


def test_a_market_needs_layers(tmp_path: Path) -> None:
    root = write(tmp_path, {"markets/test.toml": MARKET.replace('["trade", "regions/dry", "companies/demo"]', "[]")})
    assert [fault.code for fault in _faults(root).faults] == ["too-short"]
