"""Every valid range at its edges: at the edge an answer is valid, just beyond it answers and says so."""

import pytest

from airwarrant.calculations.registry import CALCULATIONS, calculate
from calculations.asking import FITTINGS, ORDINARY, SMALL_HOUSE, changed
from calculations.out_of_range import EDGES

#: Definitions and laws of mixing without a range of their own, and the network, whose ranges are those of its links.
WITHOUT = {"balance", "verdict", "network", "fitting-loss"}


@pytest.mark.parametrize(("name", "key", "within", "beyond", "change"), EDGES)
def test_an_edge(name: str, key: str, within: float, beyond: float, change: dict[str, object]) -> None:
    at, past = (calculate(name, changed(name, change | {key: value})) for value in (within, beyond))
    assert at.valid, at.warnings
    assert not past.valid
    assert past.outputs
    assert past.warnings


def test_every_calculation_with_a_range_has_its_edges_tested() -> None:
    assert {name for name, *_ in EDGES} >= set(CALCULATIONS) - WITHOUT


@pytest.mark.parametrize("fitting", FITTINGS)
def test_every_form_of_a_fitting_answers_within_its_range(fitting: str) -> None:
    done = calculate("fitting-loss", {"fitting": fitting, "velocity_fpm": 900, **FITTINGS[fitting]})
    assert done.valid == (fitting != "damper-butterfly")  # from memory, hence never valid
    assert done.outputs["loss_inwc"] == pytest.approx(done.outputs["coefficient"] * (900 / 4008.6) ** 2, rel=1e-4)


def test_the_calls_know_every_form_of_a_fitting() -> None:
    fitting = CALCULATIONS["fitting-loss"].inputs[0]
    assert list(fitting.words) == list(FITTINGS)


def test_an_interaction_nobody_gave_is_judgement_and_said_so() -> None:
    call = {"fitting": "elbow-two-plane", "velocity_fpm": 900, "height_ratio": 3}
    done = calculate("fitting-loss", call)
    assert done.valid
    assert ["engineering judgement" in line for line in done.warnings] == [True]
    assert calculate("fitting-loss", call | {"interaction": 1.5}).warnings == ()
    assert done.outputs == calculate("fitting-loss", call | {"interaction": 1.5}).outputs


def test_sag_is_the_readers_own_figure_and_said_so() -> None:
    call = ORDINARY["duct-friction"] | {"compression_pct": 20}
    plain, sagging = calculate("duct-friction", call), calculate("duct-friction", call | {"sag": 1.5})
    assert sagging.valid
    assert len(sagging.warnings) == 1
    assert sagging.outputs["loss_inwc"] == pytest.approx(1.5 * plain.outputs["loss_inwc"], rel=1e-12)


@pytest.mark.parametrize(
    ("link", "change"),
    [
        ("return", {"diameter_in": 18}),
        ("return", {"compression_pct": 31}),
        ("hall", {"diameter_in": 1, "length_ft": 400}),  # the air creeps
        ("door", {"discharge": 0.7}),
        ("grille", {"k": 4e-6}),  # the blower leaves its table
    ],
)
def test_a_network_out_of_a_links_range_says_which(link: str, change: dict[str, object]) -> None:
    rows = [row | change if row["id"] == link else row for row in SMALL_HOUSE["link"]]  # type: ignore[attr-defined]
    assert calculate("network", SMALL_HOUSE).valid
    done = calculate("network", SMALL_HOUSE | {"link": rows})
    assert not done.valid
    assert link == "grille" or any(f"link `{link}`" in line for line in done.warnings)
