"""The sure path of the network solver: a convex function of the pressures alone.

Continuity at the free nodes is the gradient of a function of their pressures that is strictly convex, because every link's flow
rises with its drop, every free node is linked to a fixed pressure and the blower's flow never rises with its static. Along
Newton's direction the slope of that function therefore rises through zero once, and bisection finds where.
"""

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_law import SMOOTHING
from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import Reached, gap_of, lawful, newton
from airwarrant.air.network_nodal import nodal_solve_carefully

LIMIT = 300
_HALVINGS = 80
_DOUBLINGS = 60
# Share of the slope at the start that may be left on a direction; the last digits come from Newton's method.
_SLOPE_LEFT = 0.1
_NOW_AND_THEN = 15


def descend(net: NumberedNetwork) -> Reached:
    """Solve from still air; hands over to Newton's method whenever continuity has become a hundred times better.

    And now and then besides: where pressures are huge, their rounding is more flow than that.
    """
    p = np.full(len(net.turned), float(net.held_pressures.mean()))
    hand_over = 1e-3
    state = lawful(net, p)
    reached = Reached(state, gap_of(net, state), 0, False)
    spent = 0
    for iteration in range(1, LIMIT + 1):
        state = lawful(net, p)
        imbalance = net.turned @ state.q
        size = max(float(np.abs(state.q).max(initial=0.0)), 1e-300)
        direction = -nodal_solve_carefully(net, gap_of(net, state).conductance, imbalance)
        share = _share(net, p, direction, float(direction @ imbalance))
        # Where all but no air moves, rounding of the pressures is more than a thousandth of every flow.
        near = float(np.abs(imbalance).max(initial=0.0)) <= max(hand_over * size, SMOOTHING)
        if near or share == 0.0 or iteration % _NOW_AND_THEN == 0:
            reached = newton(net, state, continuous=False, carefully=True)
            spent += reached.iterations
            if reached.converged:
                return Reached(reached.state, reached.gap, iteration + spent, True)
            hand_over *= 1e-2
        if share == 0.0:
            break
        p = p + share * direction
    return Reached(reached.state, reached.gap, LIMIT + spent, False)


def _share(net: NumberedNetwork, p: Floats, direction: Floats, start: float) -> float:
    """How far along a direction the slope comes near zero; 0 if the direction does not descend."""
    if not start < 0.0:
        return 0.0

    def slope(share: float) -> float:
        return float(direction @ (net.turned @ lawful(net, p + share * direction).q))

    enough = _SLOPE_LEFT * abs(start)
    low, high = 0.0, 1.0
    there = slope(high)
    for _ in range(_DOUBLINGS):
        if there >= -enough:
            break
        low, high = high, 2.0 * high
        there = slope(high)
    if abs(there) <= enough:
        return high
    middle = high
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        there = slope(middle)
        if abs(there) <= enough:
            break
        low, high = (middle, high) if there < 0.0 else (low, middle)
    return middle
