"""Continuity made good to rounding after Newton's method has stopped."""

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import Reached, State, gap_of

_MENDINGS = 4


def balanced(net: NumberedNetwork, reached: Reached) -> Reached:
    """Once more for continuity alone, when a link near no flow has turned rounding of the pressures into flow."""
    for _ in range(_MENDINGS):
        state, gap = reached.state, reached.gap
        off = net.turned @ state.q
        if np.abs(off).max(initial=0.0) <= 1e-14 * np.abs(state.q).max(initial=0.0):
            break
        p = nodal_solve_without_differences(net, gap.conductance, -off)
        mended = State(state.p + p, state.q + gap.conductance * (net.incidence @ p))
        reached = Reached(mended, gap_of(net, mended), reached.iterations, True)
    return reached


def nodal_solve_without_differences(net: NumberedNetwork, conductance: Floats, right: Floats) -> Floats:
    """Solve the nodal matrix where its conductances lie so far apart that their sums lose the small ones.

    Eliminating a node from a net of conductances leaves a net of conductances. Kept as such, each diagonal summed anew, nothing
    is ever subtracted but flows.

    References
    ----------
    C. A. O'Cinneide, "Entrywise perturbation theory and error analysis for Markov chains", Numer. Math. 65 (1993) 109-120, on the
    elimination of W. K. Grassmann, M. I. Taksar and D. P. Heyman, Oper. Res. 33 (1985) 1107-1116.
    """
    n = len(right)
    between, held = np.zeros((n, n)), np.zeros(n)
    for (a, b), value in zip(net.layout.ends, conductance.tolist(), strict=True):
        if a < n and b < n:
            between[a, b] += value
            between[b, a] += value
        elif a < n or b < n:
            held[min(a, b)] += value
    x, whole = right.copy(), np.empty(n)
    for i in range(n):
        row = between[i, i + 1 :]
        whole[i] = held[i] + row.sum()
        shares = row / whole[i]
        between[i + 1 :, i + 1 :] += np.outer(shares, row)
        held[i + 1 :] += shares * held[i]
        x[i + 1 :] += shares * x[i]
    for i in reversed(range(n)):
        x[i] = (x[i] + between[i, i + 1 :] @ x[i + 1 :]) / whole[i]
    return x
