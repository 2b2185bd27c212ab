"""Continuity made good to rounding after Newton's method has stopped."""

import numpy as np

from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import Reached, State, gap_of
from airwarrant.air.network_nodal import nodal_solve_carefully

_MENDINGS = 4


def balanced(net: NumberedNetwork, reached: Reached) -> Reached:
    """Once more for continuity alone, when a link near no flow has turned rounding of the pressures into flow."""
    for _ in range(_MENDINGS):
        state, gap = reached.state, reached.gap
        off = net.turned @ state.q
        if np.abs(off).max(initial=0.0) <= 1e-14 * np.abs(state.q).max(initial=0.0):
            break
        p = nodal_solve_carefully(net, gap.conductance, -off)
        mended = State(state.p + p, state.q + gap.conductance * (net.incidence @ p))
        reached = Reached(mended, gap_of(net, mended), reached.iterations, True)
    return reached
