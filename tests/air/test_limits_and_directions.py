"""What physics forbids or demands, for any numbers in range."""

from math import isclose, log

from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.air import distribution as d
from airwarrant.air.balancing import balance
from airwarrant.air.blower import crossing
from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.elbows import (
    ELBOW_ANGLE,
    ELBOW_AT_BLOWER,
    MITRED_ELBOW,
    MITRED_REYNOLDS,
    PLEATED_ELBOW,
    RECTANGULAR_MITRED_ELBOW,
    SMOOTH_ELBOW,
    VANED_ELBOW_AT_BLOWER,
    two_plane_elbow,
)
from airwarrant.air.equipment import capacity_modifier, energy_input_modifier
from airwarrant.air.fittings import (
    BUTTERFLY_DAMPER,
    ENTRANCE,
    GRILLE,
    gradual_contraction,
    gradual_expansion,
    rounded_entrance,
    sudden_contraction,
    sudden_expansion,
)
from airwarrant.air.friction import (
    compression_factor,
    diameter_for,
    duct_law,
    friction,
    friction_exponent,
    friction_factor,
    sag_ratio,
)
from airwarrant.air.openings import opening_pressure, transfer_area

FLOW = st.floats(0.005, 1.5)
few = settings(max_examples=60, deadline=None)


@few
@given(FLOW, st.floats(0.1, 0.6), st.sampled_from((9.144e-5, 9.144e-4)), st.floats(1.001, 3.0))
def test_more_air_or_a_smaller_duct_loses_more(flow: float, diameter: float, roughness: float, more: float) -> None:
    loss = friction(flow, diameter, roughness).loss_per_length
    assert friction(flow * more, diameter, roughness).loss_per_length > loss
    assert friction(flow, diameter / more, roughness).loss_per_length > loss


@few
@given(FLOW, st.floats(0.05, 5.0), st.sampled_from((9.144e-5, 9.144e-4)), st.floats(0.0, 0.3))
def test_a_sized_duct_loses_what_it_was_sized_for(
    flow: float, rate: float, roughness: float, compression: float
) -> None:
    diameter = diameter_for(flow, rate, roughness, compression)
    found = friction(flow, diameter, roughness)
    if found.reynolds > 2301:  # at the step to laminar no diameter has the loss in between
        # The loss falls with about the fifth power of a diameter that is exact to 1e-15.
        assert isclose(found.loss_per_length * compression_factor(diameter, compression), rate, rel_tol=1e-11)


@few
@given(st.floats(0.1, 0.5), st.floats(0.0, 0.5), st.floats(0.001, 0.4))
def test_compression_only_adds(diameter: float, compression: float, more: float) -> None:
    assert compression_factor(diameter, 0.0) == 1.0
    assert compression_factor(diameter, compression + more) > compression_factor(diameter, compression)
    assert compression_factor(diameter + 0.01, more) < compression_factor(diameter, more)


def test_printed_columns_run_one_way_and_their_ends_hold() -> None:
    falling = (SMOOTH_ELBOW, GRILLE, PLEATED_ELBOW, RECTANGULAR_MITRED_ELBOW, MITRED_REYNOLDS)
    rising = (ELBOW_ANGLE, MITRED_ELBOW, BUTTERFLY_DAMPER)
    for curve, rises in (*((one, False) for one in falling), *((one, True) for one in rising)):
        low, high = curve.at[0], curve.at[-1]
        values = [curve(low + (high - low) * i / 200) for i in range(201)]
        assert values == sorted(values, reverse=not rises)
        assert (curve(low - 1), curve(high + 1)) == (curve.value[0], curve.value[-1])


@few
@given(st.floats(0.001, 0.5), st.floats(0.5, 50.0))
def test_transfer_area_and_door_pressure_undo_each_other(flow: float, pressure: float) -> None:
    area = transfer_area(flow, pressure)
    # 1.07 cfm/(in2 sqrt(Pa)) is a discharge of 0.60629, not 0.606: 0.1 %.
    assert isclose(opening_pressure(flow, area, 0.606), pressure, rel_tol=2e-3)


@few
@given(st.floats(5.0, 900.0), st.floats(1.0, 2.0))
def test_blower_and_system_agree_where_they_meet(static_at: float, exponent: float) -> None:
    table = BlowerCurve.of_rows([(50.0, 0.7), (100.0, 0.65), (150.0, 0.65), (200.0, 0.5)])
    k = static_at / 0.6**exponent
    found = crossing(lambda s: table.flow_and_slope(s)[0], k, exponent)
    assert isclose(found.static, k * found.flow**exponent, rel_tol=1e-9)


@few
@given(st.lists(st.tuples(st.floats(0.01, 0.3), st.floats(0.01, 0.3)), min_size=1, max_size=8), st.floats(5.0, 100.0))
def test_balanced_branches_share_one_ratio_and_the_key_stays_open(
    pairs: list[tuple[float, float]], header: float
) -> None:
    measured, design = [m for m, _ in pairs], [q for _, q in pairs]
    key, found = balance(measured, design, header)
    assert found[key].added_loss == 0.0
    assert isclose(found[key].flow, measured[key], rel_tol=1e-9)
    for one, before in zip(found, measured, strict=True):
        assert one.ratio == found[key].ratio
        own = header * (one.flow / before) ** 2
        assert isclose(own + one.added_loss, header, rel_tol=1e-9)  # as found and added loss use up the header
        assert one.added_loss >= -1e-9 * header


@few
@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.floats(0.001, 0.2))
def test_more_leakage_never_delivers_more(supply: float, back: float, more: float) -> None:
    def delivery(supply_leak: float, return_leak: float) -> float:
        ducts = d.Ducts(0.5, 0.5 * supply_leak, 0.5 * return_leak, 30.0, 10.0, 1.0, 1.0)
        return d.cooling_delivery(ducts, -10e3, 298.0, 315.0, 40e3, 60e3, 286.0)

    assert delivery(supply + more, back) < delivery(supply, back)
    assert delivery(supply, back + more) < delivery(supply, back)


def test_sound_ducts_inside_deliver_all() -> None:
    ducts = d.Ducts(0.5, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0)
    assert d.cooling_delivery(ducts, -10e3, 298.0, 315.0, 40e3, 60e3, 286.0) == 1.0
    assert d.heating_delivery(ducts, 10e3, 293.0, 270.0) == 1.0


def test_modifiers_are_one_at_rated_airflow() -> None:
    assert isclose(capacity_modifier(1.0), 1.0, rel_tol=1e-9)
    assert isclose(energy_input_modifier(1.0), 1.0, rel_tol=1e-9)


@few
@given(st.floats(2500.0, 1e7), st.floats(0.0, 0.05))
def test_the_exponent_of_friction_is_the_slope_of_its_law(reynolds: float, roughness: float) -> None:
    step = 1e-4
    f0, f1 = (friction_factor(reynolds * (1.0 + s), roughness) for s in (-step, step))
    slope = 2.0 + log(f1 / f0) / log((1.0 + step) / (1.0 - step))
    # A central difference of step h is good to h squared, 1e-8, and to rounding over the step, 1e-12.
    assert isclose(friction_exponent(reynolds, roughness), slope, abs_tol=1e-6)
    assert 1.6 < slope <= 2.0


def test_laminar_friction_is_linear() -> None:
    assert friction_exponent(1000.0, 0.01) == 1.0


@few
@given(FLOW, st.floats(0.1, 0.5), st.floats(0.0, 5.0), st.floats(1.0, 5.0))
def test_a_ducts_law_is_its_loss_and_its_slope(flow: float, diameter: float, coefficient: float, factor: float) -> None:
    def loss(q: float) -> float:
        found = friction(q, diameter, 9e-4)
        return 10.0 * factor * found.loss_per_length + coefficient * 1.2013846 * found.velocity**2 / 2.0

    law = duct_law(flow, diameter, 9e-4, 10.0, factor, coefficient)
    if friction(flow * 0.98, diameter, 9e-4).reynolds > 2300:
        assert isclose(law.k * flow**law.exponent, loss(flow), rel_tol=1e-6)  # density to eight digits
        near = loss(flow * 1.001)
        assert isclose(law.k * (flow * 1.001) ** law.exponent, near, rel_tol=2e-6)
    assert 1.6 < law.exponent <= 2.0


@few
@given(st.floats(0.1, 0.5))
def test_a_ducts_law_stands_still_where_flow_would_be_laminar(diameter: float) -> None:
    assert duct_law(0.0, diameter, 9e-4, 10.0) == duct_law(1e-6, diameter, 9e-4, 10.0)


@few
@given(st.floats(0.05, 0.95), st.floats(0.0, 180.0), st.floats(0.0, 180.0))
def test_gentler_tapers_lose_less_and_the_steepest_is_a_step(ratio: float, one: float, other: float) -> None:
    gentle, steep = sorted((one, other))
    # Crane's two pieces of each formula meet at 45° to within 1 %.
    assert gradual_expansion(ratio, gentle) <= gradual_expansion(ratio, steep) * 1.01
    assert gradual_contraction(ratio, gentle) <= gradual_contraction(ratio, steep) * 1.01
    assert isclose(gradual_expansion(ratio, 180.0), sudden_expansion(ratio), rel_tol=1e-12)
    assert isclose(gradual_contraction(ratio, 180.0), sudden_contraction(ratio), rel_tol=1e-12)


@few
@given(st.floats(0.0, 1.0), st.floats(0.001, 0.5))
def test_rounding_an_entrance_helps(radius: float, more: float) -> None:
    assert rounded_entrance(0.0) == ENTRANCE
    assert rounded_entrance(radius + more) < rounded_entrance(radius)


@few
@given(st.floats(0.5, 2.0), st.floats(0.0, 5.0), st.floats(0.05, 1.0))
def test_straight_duct_a_wider_bend_and_vanes_calm_an_elbow_at_a_blower(
    radius: float, straight: float, more: float
) -> None:
    for sheet in (ELBOW_AT_BLOWER, VANED_ELBOW_AT_BLOWER):
        assert sheet(radius, straight + more) <= sheet(radius, straight)
        assert sheet(radius + more, straight) <= sheet(radius, straight)
    assert VANED_ELBOW_AT_BLOWER(radius, straight) <= ELBOW_AT_BLOWER(radius, straight)


@few
@given(st.floats(0.25, 4.0), st.floats(1.0, 2.0))
def test_a_two_plane_pair_is_the_same_from_either_end(ratio: float, interaction: float) -> None:
    assert isclose(two_plane_elbow(ratio, interaction), two_plane_elbow(1.0 / ratio, interaction), rel_tol=1e-12)
    assert two_plane_elbow(ratio, interaction) >= two_plane_elbow(ratio, 1.0)


@few
@given(st.floats(0.1, 0.5), st.floats(0.0, 0.9))
def test_sag_never_helps(diameter: float, compression: float) -> None:
    assert sag_ratio(diameter, compression) >= 1.0
