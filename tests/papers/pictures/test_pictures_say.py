"""What the pictures say: every number that came in, at the place its axis gives, and no word of their own."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.papers.pictures import (
    AirPath,
    Axis,
    Door,
    Frame,
    Outlet,
    Piece,
    RoomFlow,
    Shown,
    Station,
    Step,
    air_path,
    blower_chart,
    door_pressures,
    pressure_profile,
    room_flows,
    waterfall,
)
from airwarrant.papers.pictures.palette import PAPER
from papers.pictures import samples
from papers.pictures.reading_svg import (
    SVG,
    across,
    diamonds,
    number,
    outside,
    overlaps,
    rings,
    root_of,
    strokes,
    texts,
    words,
)
from papers.pictures.samples import (
    AFTER,
    BEFORE,
    BLOWER,
    DOORS,
    FLOW,
    HALL,
    LIMIT,
    NEW_RETURN,
    ORDINARY,
    PATH,
    PATH_WORDS,
    PRESSURE,
    ROOM_WORDS,
    ROOMS,
    STATIONS,
    WIDTHS,
    exact,
    fmt,
    frame,
)

#: A hundredth of a pixel in the coordinates, and tick labels read from their rounded middles.
PIXEL = 0.1


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def given_texts(name: str) -> list[str]:
    """Every text that a sample hands in."""
    shown = {
        "rooms": [t for r in ROOMS for t in (r.name, r.found.text, r.target.text, r.predicted.text)],
        "doors": [t for d in DOORS for t in (d.name, d.found.text, d.predicted.text, d.limit.text)],
        "profile": [t for s in STATIONS for t in (s.name, s.found.text, s.predicted.text)],
        "waterfall": [
            t for s in (samples.START, *samples.STEPS, samples.END) for t in (s.name, s.change, s.reached.text)
        ],
        "blower": [BLOWER.label, BEFORE.label, BEFORE.curve.label, AFTER.label, AFTER.curve.label, LIMIT.label],
        "path": [
            *(t for p in (*HALL, *NEW_RETURN, *samples.COMMON) for t in (p.name, p.note)),
            *(s.text for p in (*HALL, *NEW_RETURN, *samples.COMMON) for s in (p.lost, p.lost_after) if s is not None),
            *(t for p in (*HALL, *samples.COMMON) for leak in p.leaks for t in (leak.text, leak.after)),
            *(t for o in samples.OUTLETS for t in (o.name, o.flow, o.flow_after)),
        ],
    }
    return shown[name]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ORDINARY)
def test_every_text_and_number_handed_in_is_printed(name: str, width: float) -> None:
    said = "".join(words(svg) for svg in ORDINARY[name](frame(width=width)))
    for text in given_texts(name):
        assert squeezed(text) in said


@pytest.mark.parametrize("name", ORDINARY)
def test_no_ordinary_text_is_shortened(name: str) -> None:
    for width in (672.0, 340.0):
        for svg in ORDINARY[name](frame(width=width)):
            assert not [one.text for one in texts(svg) if "…" in one.text]


@pytest.mark.parametrize("name", ORDINARY)
def test_a_picture_has_no_word_of_its_own(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Letters that no caller of this test hands in may not stand in it: all samples' letters are turned into one.
    for svg in ORDINARY[name](frame()):
        spoken = set("".join(one.text for one in texts(svg)))
        handed = set("".join(given_texts(name)))
        for spare in (PRESSURE.title, FLOW.title):
            handed |= set(spare)
        for heads in (ROOM_WORDS, samples.DOOR_WORDS, samples.PROFILE_WORDS, samples.WATERFALL_WORDS, PATH_WORDS):
            handed |= {
                c for field in heads.__slots__ for v in (getattr(heads, field),) if isinstance(v, str) for c in v
            }
        assert spoken <= handed | set("0123456789.,−")


def test_a_number_swapped_is_a_picture_changed() -> None:
    for width in WIDTHS:
        changed = (replace(ROOMS[0], target=exact(311)), *ROOMS[1:])
        before, after = (room_flows(frame(width=width), rooms, FLOW, ROOM_WORDS)[0] for rooms in (ROOMS, changed))
        assert "311" in words(after)
        assert "311" not in words(before)
        assert strokes(before)[0] != strokes(after)[0]


@pytest.mark.parametrize("width", WIDTHS)
def test_room_marks_lie_where_the_tick_labels_say(width: float) -> None:
    (svg,) = room_flows(frame(width=width), ROOMS, FLOW, ROOM_WORDS)
    zero, step = across(svg)
    for marks, values in (
        (rings(svg), [r.found.value for r in ROOMS]),
        (strokes(svg), [r.target.value for r in ROOMS]),
        (diamonds(svg), [r.predicted.value for r in ROOMS]),
    ):
        assert [x for x, _ in marks] == pytest.approx([zero + step * (v or 0.0) for v in values], abs=PIXEL)
    # One row's marks lie on one line.
    rows = [y for _, y in rings(svg)]
    assert rows == pytest.approx([y for _, y in diamonds(svg)], abs=PIXEL)
    assert rows == sorted(rows)


@pytest.mark.parametrize("width", WIDTHS)
def test_stations_lie_where_the_tick_labels_say_left_for_suction(width: float) -> None:
    svg = pressure_profile(frame(width=width), STATIONS, PRESSURE, samples.PROFILE_WORDS)
    zero, step = across(svg)
    expected = [zero + step * (s.found.value or 0.0) for s in STATIONS]
    assert [x for x, _ in rings(svg)] == pytest.approx(expected, abs=PIXEL)
    assert rings(svg)[3][0] < zero < rings(svg)[4][0]


@pytest.mark.parametrize("width", WIDTHS)
def test_operating_points_lie_on_both_axes(width: float) -> None:
    svg = blower_chart(frame(width=width), BLOWER, FLOW, PRESSURE, before=BEFORE, after=AFTER, limit=LIMIT)
    labels = [(number(t.text), t.box) for t in texts(svg) if number(t.text) is not None]
    upright = sorted(((v or 0.0), (b.top + b.bottom) / 2.0) for v, b in labels if (v or 0.0) < 10.0)
    (v1, y1), (v2, y2) = upright[0], upright[-1]
    # The middle of a line of digits is not that of its box: measured from tick to tick only.
    down = (y2 - y1) / (v2 - v1)
    flat = [
        (number(t.text) or 0.0, (t.box.left + t.box.right) / 2.0) for t in texts(svg) if (number(t.text) or 0.0) > 10.0
    ]
    flat = sorted(flat)[1:-1] if len(flat) > 3 else sorted(flat)
    across_step = (flat[-1][1] - flat[0][1]) / (flat[-1][0] - flat[0][0])
    (ring,) = [c for c in rings(svg)]
    (diamond,) = diamonds(svg)
    assert diamond[0] - ring[0] == pytest.approx(across_step * (1249.0 - 1026.0), abs=2.0 * PIXEL)
    assert diamond[1] - ring[1] == pytest.approx(down * (0.633 - 0.88), abs=2.0 * PIXEL)
    # The table's rows, each a dot.
    dots = [c for c in root_of(svg).iter(f"{SVG}circle") if c.attrib["r"] == "2.3"]
    assert len(dots) == len(BLOWER.points)
    first, last = dots[0], dots[-1]
    assert float(last.attrib["cy"]) - float(first.attrib["cy"]) == pytest.approx(down * 0.8, abs=2.0 * PIXEL)


def test_bars_are_as_long_as_the_pressure_lost() -> None:
    pieces = tuple(Piece("duct", f"Duct {i}", exact(lost, 2)) for i, lost in enumerate((0.10, 0.20, 0.05, 0.0)))
    svg = air_path(frame(), AirPath((), pieces), PATH_WORDS)
    bars = [
        float(r.attrib["width"])
        for r in root_of(svg).iter(f"{SVG}rect")
        if r.attrib["height"] == "8" and float(r.attrib["y"]) > 40.0
    ]
    assert bars == pytest.approx([bars[1] / 2.0, bars[1], bars[1] / 4.0], abs=0.02)


def test_a_tight_piece_has_wedges_and_its_word_and_a_fine_one_none() -> None:
    def wedges(mark: str) -> tuple[int, str]:
        svg = air_path(frame(), AirPath((), (Piece("duct", "Duct", mark=mark),)), PATH_WORDS)  # type: ignore[arg-type]
        return len(list(root_of(svg).iter(f"{SVG}polygon"))), words(svg)

    assert wedges("tight")[0] == 4
    assert squeezed(PATH_WORDS.tight) in wedges("tight")[1]
    assert wedges("fine")[0] == wedges("")[0] == 0
    assert PATH_WORDS.fine in wedges("fine")[1]
    assert PATH_WORDS.fine not in wedges("")[1]


def test_a_leak_points_the_way_its_air_goes() -> None:
    def head(inward: bool) -> tuple[float, float]:
        leaks = (samples.Leak(inward, "9 cfm"),)
        svg = air_path(frame(), AirPath((), (Piece("duct", "Duct", leaks=leaks),)), PATH_WORDS)
        (arrow,) = root_of(svg).iter(f"{SVG}polygon")
        xs = [float(p.split(",")[0]) for p in arrow.attrib["points"].split()]
        return xs[0], xs[1]

    tip, back = head(True)
    assert tip < back
    tip, back = head(False)
    assert tip > back


def test_rooms_are_cut_into_pictures_on_one_scale() -> None:
    rooms = [RoomFlow(f"Room {i}", exact(i)) for i in range(100)]
    pictures = room_flows(frame(), rooms, FLOW, ROOM_WORDS, most=30)
    assert [len(rings(svg)) for svg in pictures] == [25, 25, 25, 25]
    assert len({across(svg) for svg in pictures}) == 1
    said = "".join(words(svg) for svg in pictures)
    assert all(f"Room{i}" in said for i in range(100))
    assert [root_of(svg)[0].text for svg in pictures][2] == "A title (3 of 4)"
    assert room_flows(frame(), [], FLOW, ROOM_WORDS) == ()
    assert door_pressures(frame(), [], PRESSURE, samples.DOOR_WORDS) == ()
    with pytest.raises(ValueError, match="1 or more"):
        room_flows(frame(), rooms, FLOW, ROOM_WORDS, most=0)


def test_rooms_beyond_the_most_are_counted_in_the_path() -> None:
    rooms = tuple(Outlet(f"Room {i}") for i in range(100))
    said = words(air_path(frame(), AirPath((HALL,), samples.COMMON, rooms), PATH_WORDS, most_rooms=12))
    assert "and88more" in said
    assert "Room11" in said
    assert "Room12" not in said


def test_a_missing_number_is_said_and_not_drawn() -> None:
    for missing in (Shown(), Shown(float("nan")), Shown(None, "", float("nan"), 3.0)):
        (svg,) = room_flows(frame(), [RoomFlow("Room", missing, exact(5), exact(4))], FLOW, ROOM_WORDS)
        assert rings(svg) == []
        assert squeezed(ROOM_WORDS.missing) in words(svg)


def test_a_range_without_a_value_has_no_point() -> None:
    (svg,) = room_flows(frame(), [RoomFlow("Room", predicted=Shown(None, "40–60", 40.0, 60.0))], FLOW, ROOM_WORDS)
    assert diamonds(svg) == []
    assert "40–60" in words(svg)


def test_bars_of_the_waterfall_run_from_each_step_to_the_next() -> None:
    steps = (Step("a", exact(120)), Step("b", Shown()), Step("c", exact(90)))
    svg = waterfall(frame(), Step("start", exact(100)), steps, Step("end", exact(90)), FLOW, samples.WATERFALL_WORDS)
    zero, step = across(svg)
    bars = [
        (float(r.attrib["x"]), float(r.attrib["x"]) + float(r.attrib["width"]))
        for r in root_of(svg).iter(f"{SVG}rect")
        if r.attrib["height"] == "10" and r.attrib["fill"] == PAPER
    ]
    expected = [(zero + step * 100, zero + step * 120), (zero + step * 90, zero + step * 120)]
    assert [v for bar in bars for v in bar] == pytest.approx([v for bar in expected for v in bar], abs=PIXEL)


def test_numbers_are_written_in_the_callers_way() -> None:
    comma = Axis("Presión estática, Pa", lambda value, decimals: f"{value:.{decimals}f}".replace(".", ","))
    svg = pressure_profile(
        frame(),
        [Station("Sala", Shown(-0.4, "−0,4")), Station("Filtro", Shown(0.3, "0,3"))],
        comma,
        samples.PROFILE_WORDS,
    )
    assert "−0,4" in words(svg)
    assert "-0,4" in words(svg)
    assert not [one.text for one in texts(svg) if re.search(r"\d\.\d", one.text)]


VALUES = st.one_of(st.none(), st.floats(allow_nan=True, allow_infinity=True))
SHOWN = st.builds(Shown, VALUES, st.text(max_size=30), VALUES, VALUES)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.builds(RoomFlow, st.text(), SHOWN, SHOWN, SHOWN), max_size=6), st.floats(240.0, 900.0))
def test_any_rooms_at_any_width_are_drawn_without_overlap(rooms: list[RoomFlow], width: float) -> None:
    for svg in room_flows(
        Frame("r", "t", "d", width), rooms, Axis("Air", lambda v, d: f"{v:.{min(d, 4)}g}"), ROOM_WORDS
    ):
        assert list(overlaps(svg)) == []
        assert list(outside(svg)) == []


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 200), max_size=9), st.integers(0, 5), st.floats(240.0, 900.0))
def test_any_path_at_any_width_is_drawn_without_overlap(pieces: list[int], returns: int, width: float) -> None:
    common = tuple(map(samples.hostile_piece, pieces))
    svg = air_path(Frame("a", "t", "d", width), AirPath((common[:2],) * returns, common, PATH.rooms), PATH_WORDS)
    assert list(overlaps(svg)) == []
    assert list(outside(svg)) == []


def test_doors_reach_their_limit_stroke() -> None:
    (svg,) = door_pressures(frame(), [*DOORS, Door("Bath", limit=exact(3))], PRESSURE, samples.DOOR_WORDS)
    zero, step = across(svg)
    assert [x for x, _ in strokes(svg)] == pytest.approx([zero + step * v for v in (15.0, 15.0, 3.0)], abs=PIXEL)
    assert fmt(14.5, 1) in words(svg)
