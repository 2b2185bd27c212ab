"""A small policies folder for tests, and texts in which » marks where a fault must be."""

from pathlib import Path

HEAD = '[policy]\ntitle = "Test"\nreview_by = 2030-01-01\n'

TRADE = (
    HEAD
    + """
[parameter.ceiling]
value = 0.60
unit = "in. w.c."
title = "Ceiling"
edit = "company"
basis = { kind = "demo" }

[parameter.share]
value = 20
unit = "%"
title = "Share"
edit = "company"
basis = { kind = "demo" }

[parameter.moment]
value = "before-sale"
unit = "word"
title = "Moment"
edit = "company"
choices = ["before-sale", "during-work"]
basis = { kind = "demo" }

[parameter.co_stop]
value = 35
unit = "ppm"
title = "Stop"
edit = "locked"
safer = "lower"
basis = { kind = "engineering-judgement" }

[parameter.per_code]
value = 4
unit = "%"
title = "Leakage by code"
edit = "code"
basis = { kind = "published", cite = "Demo code", edition = "2021", adopted = 2022-01-01 }

[table.door_limit]
title = "Door"
by = "flow"
by_unit = "cfm"
unit = "Pa"
rows = [[0, 3], [150, 5]]
between = "last-row-at-or-below"
below_first = "first-row"
above_last = "last-row"
edit = "company"
basis = { kind = "demo" }

[table.draft_limit]
title = "Draft"
by = "vents"
unit = "Pa"
rows = [["water-heater", -2], ["with-furnace", -3], ["induced", -5], ["power-vent", -15], ["sealed", -25]]
edit = "locked"
safer = "higher"
basis = { kind = "engineering-judgement" }

[figure.static_sum]
title = "Sum"
each = "house"
unit = "in. w.c."
sum_of = ["return_static", "supply_static"]

[[check]]
id = "static"
title = "Static"
each = "house"
reading = "external_static"
must_be = "at most"
strictest_limit = ["@ceiling", "static_max"]

[[check]]
id = "door"
title = "Door pressure"
each = "room"
reading = "door_pressure"
must_be = "below"
limit = "@door_limit"

[[check]]
id = "room-flow"
title = "Air into the room"
each = "room"
reading = "flow"
must_be = "at least"
loosest_limit = [{ of = "target", less = "@share" }, { of = "target", less = "25 cfm" }]

[[check]]
id = "draft"
title = "Draft"
each = "zone"
reading = "draft"
must_be = "at least"
limit = "@draft_limit"
doubt = "against"

[[rule]]
id = "find.tight"
title = "Tight"
stage = "diagnose"
when = [{ check = "static", is = "fail" }]
then = [{ finding = "tight" }]

[[rule]]
id = "find.door"
title = "Door"
stage = "diagnose"
each = "room"
where = { use = "bedroom" }
when = [{ check = "door", is = "fail" }]
then = [{ finding = "pressed" }]

[[rule]]
id = "guard.draft"
title = "Draft"
stage = "guard"
authority = "safety"
each = "zone"
when = [{ check = "draft", is = "fail" }]
then = [{ hold = "group:sealing", until = "it passes", named = "draft" }]

[[rule]]
id = "scope.door"
title = "Undercut"
stage = "scope"
each = "room"
when = [{ finding = "pressed" }, { finding = "tight" }]
then = [{ line = "undercut-door", tier = "recommended" }]

[task.undercut-door]
title = "Trim the door"
groups = ["door"]
[task.seal-ducts]
title = "Seal"
groups = ["sealing"]
after = ["undercut-door"]

[said.undercut-door]
en = "The door of {name} pushes {door.reading}."
"""
)
REGION = (
    HEAD
    + """
[parameter.ceiling]
value = 0.70
"""
)
COMPANY = HEAD
MARKET = """[market]
title = "Test market"
layers = ["trade", "regions/dry", "companies/demo"]
jurisdiction = "demo county"
editions = ["demo"]
currency = "demo"
"""
FILES = {
    "trade/2026-01-01/all.toml": TRADE,
    "regions/dry/2026-01-01/limits.toml": REGION,
    "companies/demo/2026-01-01/own.toml": COMPANY,
    "markets/test.toml": MARKET,
}


def write(root: Path, files: dict[str, str] | None = None, **more: str) -> Path:
    """Write the small folder, with further files or others in their place; a text is written as it stands."""
    for name, text in {**FILES, **(files or {}), **more}.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace("»", ""), encoding="utf-8")
    return root


def marked(text: str) -> tuple[int, int] | None:
    """Line and column of the mark in a text."""
    before, mark, _ = text.partition("»")
    return (before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1) if mark else None
