"""Pictures of one result: its numbers, as they stand there, handed to the drawings with the words of the papers' language."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from markupsafe import Markup

from airwarrant.papers.numbers import about, amount, plain, signed, span
from airwarrant.papers.page import picture
from airwarrant.papers.pictures.air_path import air_path
from airwarrant.papers.pictures.air_path_parts import AirPath, Kind, Leak, Mark, Outlet, PathWords, Piece
from airwarrant.papers.pictures.blower_chart import Curve, Limit, Operation, blower_chart
from airwarrant.papers.pictures.door_pressures import Door, DoorWords, door_pressures
from airwarrant.papers.pictures.pressure_profile import ProfileWords, Station, pressure_profile
from airwarrant.papers.pictures.room_flows import RoomFlow, RoomWords, room_flows
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.waterfall import Step, WaterfallWords, waterfall
from airwarrant.papers.sheet import HOUSE, Sheet, ends
from airwarrant.units import fixed

_FLOW, _INCHES = "cfm", "in. w.c."
#: Piece of the path -> how it is drawn.
_KINDS: Final[Mapping[str, Kind]] = {
    "filter-grille": "grille",
    "return-duct": "duct",
    "platform": "platform",
    "return-elbow": "elbow",
    "collar": "collar",
    "coil": "coil",
    "supply-elbow": "elbow",
    "plenum": "plenum",
    "branches": "branches",
}


#: Width a picture is laid out for, in CSS pixels: a page of paper, a phone.
PAPER, PHONE = 672.0, 330.0


class Pictures:
    """The pictures of a sheet; each is empty where the result has nothing to draw.

    Parameters
    ----------
    sheet : Sheet
    width : float
        `PAPER` or `PHONE`: a page carries both, and shows the one that fits.
    """

    def __init__(self, sheet: Sheet, width: float = PAPER) -> None:
        self._width = width
        self._sheet = sheet
        self._w = sheet.words
        self._result = sheet.result
        self._scope: Mapping[str, Any] = (sheet.result["predictions"]["scope"] or {}).get("readings", {})
        self._found: Mapping[str, Any] = sheet.result["predictions"]["network_as_found"] or {}

    def path(self) -> Markup:
        """The air path of the house, with its tight and leaky places."""
        found, after = self._result["air_path"]["found"], self._result["air_path"]["scope"]
        if found is None:
            return Markup()
        later = {(p["side"], p["piece"]): p["drop"] for p in after["pieces"]} if after else {}
        pieces = [self._piece(piece, later, found, after) for piece in found["pieces"]]
        before = [p for p, raw in zip(pieces, found["pieces"], strict=True) if raw["side"] == "return"]
        behind = [p for p, raw in zip(pieces, found["pieces"], strict=True) if raw["side"] == "supply"]
        added = [
            (Piece("grille", self._sheet.place(place), note=self._about(flow, _FLOW), new=True),)
            for place, flow in (after or {}).get("added_returns", {}).items()
        ]
        blower = Piece("blower", self._w("pictures.blower"), note=self._flow(found["flow"]))
        # Added returns join at the unit: what the old return alone loses is drawn beside them.
        returns = (tuple(before), *added) if added else (tuple(before[:1]),)
        common = (blower, *behind) if added else (*before[1:], blower, *behind)
        frame = self._frame("air-path", self._w("pictures.path_title"), self._path_said(found))
        words = PathWords(
            **{name: self._w(f"pictures.path_{name}") for name in _PATH_WORDS},
            missing=self._w("pictures.missing"),
            more=lambda n: self._w("pictures.more_rooms", n=n),
        )
        return picture(air_path(frame, AirPath(returns, common, tuple(self._outlets())), words))

    def profile(self) -> Markup:
        """Pressure along the path, as found and as predicted."""
        found, after = self._result["air_path"]["found"], self._result["air_path"]["scope"]
        if found is None:
            return Markup()
        first, later = _along(found), dict(_along(after)) if after else {}
        stations = [
            Station(self._station(key), _bare(value, _INCHES), _bare(later[key], _INCHES) if key in later else MISSING)
            for key, value in first
        ]
        frame = self._frame(
            "profile",
            self._w("pictures.profile_title"),
            self._w(
                "pictures.profile_said",
                found=amount(found["static"], _INCHES),
                after=self._after(after, "static", _INCHES),
            ),
        )
        words = ProfileWords(
            self._w("pictures.place"),
            self._w("pictures.found"),
            self._w("pictures.predicted"),
            self._w("pictures.missing"),
        )
        return picture(pressure_profile(frame, stations, Axis(self._w("pictures.static_axis"), tick), words))

    def blower(self) -> Markup:
        """The new unit's blower with the house's own curve before and after."""
        found, after = self._result["air_path"]["found"], self._result["air_path"]["scope"]
        blower = self._result["record"]["new_blower"]
        setting = after and blower and next((s for s in blower["settings"] if s["name"] == after["setting"]), None)
        if not setting:
            return Markup()
        like = next((o for o in self._result["predictions"]["like_for_like"] if o["setting"] == after["setting"]), None)
        curve = Curve(self._w("pictures.blower_at", setting=setting["name"]), tuple((q, s) for s, q in setting["rows"]))
        most = self._result["record"]["new"].get("static_max")
        limit = Limit(self._w("pictures.label_limit"), self._static(most["value"])) if most else None
        frame = self._frame(
            "blower",
            self._w("pictures.blower_title"),
            self._w("pictures.blower_said", flow=amount(after["flow"], _FLOW), static=amount(after["static"], _INCHES)),
        )
        return picture(
            blower_chart(
                frame,
                curve,
                Axis(self._w("pictures.flow_axis"), tick),
                Axis(self._w("pictures.static_axis"), tick),
                before=self._operation(found, "pictures.house_found", (like or {}).get("readings", {})),
                after=self._operation(after, "pictures.house_after", self._scope),
                limit=limit,
            )
        )

    def rooms(self) -> list[Markup]:
        """Each room's air now, wanted and predicted."""
        targets = self._result["predictions"]["targets"]
        rooms = [
            RoomFlow(
                self._sheet.place(room),
                self._shown(self._found.get(room, {}).get("flow")),
                _bare(t["flow"], t["unit"]) if (t := targets.get(room)) else MISSING,
                self._ranged(self._scope.get(room, {}).get("flow")),
            )
            for room in self._rooms()
            if "flow" in self._found.get(room, {}) or room in targets
        ]
        frame = self._frame("rooms", self._w("pictures.rooms_title"), self._w("pictures.rooms_said", n=len(rooms)))
        words = RoomWords(
            self._w("pictures.room"),
            self._w("pictures.now"),
            self._w("pictures.wanted"),
            self._w("pictures.predicted"),
            self._w("pictures.missing"),
            lambda page, of: self._w("pictures.page", page=page, of=of),
        )
        return [picture(svg) for svg in room_flows(frame, rooms, Axis(self._w("pictures.flow_axis"), tick), words)]

    def doors(self) -> list[Markup]:
        """Pressure behind each shut door, now and predicted, against the limit."""
        doors = []
        for room in self._rooms():
            now = self._found.get(room, {}).get("door_pressure")
            after = self._scope.get(room, {}).get("door_pressure")
            verdict = self._sheet.verdict_on(room, "door_pressure")
            if now is None and after is None:
                continue
            limit = verdict["limit"] if verdict and verdict.get("limit") else None
            shown = _bare(limit["value"], limit["unit"]) if limit else MISSING
            doors.append(Door(self._sheet.place(room), self._shown(now), self._ranged(after), shown))
        frame = self._frame("doors", self._w("pictures.doors_title"), self._w("pictures.doors_said", n=len(doors)))
        words = DoorWords(
            self._w("pictures.door"),
            self._w("pictures.now"),
            self._w("pictures.predicted"),
            self._w("pictures.limit"),
            self._w("pictures.missing"),
            lambda page, of: self._w("pictures.page", page=page, of=of),
        )
        return [picture(svg) for svg in door_pressures(frame, doors, Axis(self._w("pictures.door_axis"), tick), words)]

    def effects(self) -> Markup:
        """Air that reaches the rooms, line by line in the order of work: effects do not add up."""
        steps, scope = self._result["predictions"]["steps"], self._result["predictions"]["scope"]
        if not steps or scope is None:
            return Markup()
        like = next((o for o in self._result["predictions"]["like_for_like"] if o["setting"] == scope["setting"]), None)
        base = (like or {}).get("readings", {}).get(HOUSE, {}).get("register_flow")
        rows = [
            Step(
                self._sheet.line_name(step["line"]),
                self._shown(step["readings"].get("register_flow")),
                "" if step["adds"] is None else signed(step["adds"], _FLOW, bare=True),
            )
            for step in steps
        ]
        end = self._scope.get(HOUSE, {}).get("register_flow")
        frame = self._frame(
            "effects",
            self._w("pictures.effects_title"),
            self._w("pictures.effects_said", before=self._sheet.range(base), after=self._sheet.range(end)),
        )
        words = WaterfallWords(
            self._w("pictures.step"),
            self._w("pictures.change"),
            self._w("pictures.reached"),
            self._w("pictures.missing"),
        )
        return picture(
            waterfall(
                frame,
                Step(self._w("pictures.like_for_like"), self._ranged(base)),
                rows,
                Step(self._w("pictures.whole_scope"), self._ranged(end)),
                Axis(self._w("pictures.flow_axis"), tick),
                words,
            )
        )

    # ------------------------------------------------------------------------------------------------------------ within

    def _rooms(self) -> list[str]:
        items = self._result["record"]["items"]
        return [key for key, item in items.items() if item["kind"] == "room"]

    def _piece(
        self,
        raw: Mapping[str, Any],
        later: Mapping[tuple[str, str], float],
        found: Mapping[str, Any],
        after: Mapping[str, Any] | None,
    ) -> Piece:
        left = {leak["leak"]: leak["flow"] for leak in after["leaks"]} if after else {}
        leaks = tuple(
            Leak(
                leak["side"] == "return",
                self._w(
                    "pictures.leak_in" if leak["side"] == "return" else "pictures.leak_out",
                    flow=self._flow(leak["flow"]),
                    space=self._w.of("space", leak["space"]),
                ),
                self._about(left[leak["leak"]], _FLOW) if leak["leak"] in left else "",
            )
            for leak in found["leaks"]
            if self._at(leak) == (raw["side"], raw["piece"])
        )
        key = (raw["side"], raw["piece"])
        name = self._w(f"pieces.{raw['side']}-{raw['piece']}")
        item = "" if raw["item"] == HOUSE else self._sheet.place(raw["item"])
        return Piece(
            _KINDS[raw["piece"]],
            name,
            self._static(raw["drop"]),
            Shown(later[key], self._about(later[key], _INCHES)) if key in later else None,
            self._mark(raw),
            item if raw["read"] else self._w("pictures.not_read"),
            leaks,
        )

    def _at(self, leak: Mapping[str, Any]) -> tuple[str, str]:
        """The piece that a leak is drawn at: the one it names, else the one at the unit."""
        pieces = [p["piece"] for p in self._result["air_path"]["found"]["pieces"] if p["side"] == leak["side"]]
        for wanted in _LEAK_AT.get(leak["at"], ()):
            if wanted in pieces:
                return leak["side"], wanted
        return leak["side"], pieces[-1] if leak["side"] == "return" else pieces[0]

    def _mark(self, raw: Mapping[str, Any]) -> Mark:
        """Tight where a reading over the piece, or a check of the item it is, fails; fine where its reading passes."""
        key, _, field = raw["reading"].partition(".")
        own = {v["word"] for v in self._sheet.verdicts_on(key, field)}
        if raw["item"] != HOUSE:
            own |= {"fail" for v in self._sheet.verdicts_at(raw["item"]) if v["word"] == "fail"}
        return "tight" if "fail" in own else "fine" if "pass" in own and "close" not in own else ""

    def _outlets(self) -> list[Outlet]:
        out = []
        for room in self._rooms():
            now, after = self._found.get(room, {}).get("flow"), self._scope.get(room, {}).get("flow")
            if now is None:
                continue
            short = any(v["word"] == "fail" for v in self._sheet.promised(room))
            out.append(
                Outlet(
                    self._sheet.place(room),
                    amount(now["value"], now["unit"]),
                    self._sheet.range(after) if after else "",
                    short,
                )
            )
        return out

    def _path_said(self, found: Mapping[str, Any]) -> str:
        lost = "; ".join(
            f"{self._w('pieces.' + p['side'] + '-' + p['piece'])} {amount(p['drop'], _INCHES)}" for p in found["pieces"]
        )
        leaks = "; ".join(f"{self._w.of('space', leak['space'])} {self._flow(leak['flow'])}" for leak in found["leaks"])
        return self._w("pictures.path_said", lost=lost, leaks=leaks or self._w("pictures.none"))

    def _operation(self, path: Mapping[str, Any], word: str, readings: Mapping[str, Any]) -> Operation:
        house = readings.get(HOUSE, {})
        return Operation(
            Curve(self._w(word), tuple((q, s) for q, s in path["system"])),
            "",
            self._ranged(house.get("airflow")),
            self._ranged(house.get("external_static")),
        )

    def _station(self, key: str) -> str:
        return self._w(f"stations.{key}")

    def _frame(self, name: str, title: str, description: str) -> Frame:
        return Frame(f"{name}-{self._width:.0f}", title, description, self._width)

    def _about(self, value: float, unit: str) -> str:
        """A predicted number of a piece, of which the result has no range."""
        return self._w("pictures.about", n=about(value, unit))

    @staticmethod
    def _flow(value: float) -> str:
        return amount(value, _FLOW)

    @staticmethod
    def _static(value: float) -> Shown:
        return Shown(value, amount(value, _INCHES))

    @staticmethod
    def _after(path: Mapping[str, Any] | None, name: str, unit: str) -> str:
        return amount(path[name], unit) if path else ""

    @staticmethod
    def _shown(one: Mapping[str, Any] | None) -> Shown:
        return _bare(one["value"], one["unit"]) if one else MISSING

    def _ranged(self, one: Mapping[str, Any] | None) -> Shown:
        if not one:
            return MISSING
        low, high = ends(one)
        return Shown(one["value"], span(low, high, one["unit"], bare=True, to=self._w("base.to")), low, high)


_PATH_WORDS = ("path", "lost", "found", "after", "tight", "fine", "new", "short", "rooms")
#: Word of a leak's place -> pieces it is drawn at, the first that the house has.
_LEAK_AT: Final[Mapping[str, Sequence[str]]] = {
    "grille": ("filter-grille",),
    "platform": ("platform", "return-duct"),
    "duct": ("return-duct", "platform", "branches"),
    "box": ("return-duct", "platform", "branches"),
    "elbow": ("return-elbow", "supply-elbow"),
    "coil": ("coil",),
    "plenum": ("collar", "plenum"),
    "branches": ("branches",),
}


def _along(path: Mapping[str, Any]) -> list[tuple[str, float]]:
    """Stations from room to room with their pressure against the rooms."""
    out = [("rooms", 0.0)]
    for side in ("return", "supply"):
        if side == "supply":
            out.append(("blower", path["outlet"]))
        out += [(f"{side}-{p['piece']}", p["pressure"]) for p in path["pieces"] if p["side"] == side]
    return out


def _bare(value: float, unit: str) -> Shown:
    """A number of a picture whose axis names the unit."""
    return Shown(value, plain(fixed(value, unit)))


def tick(value: float, decimals: int) -> str:
    """Text of a tick."""
    return plain(str(round(Decimal(repr(value)), decimals)))
