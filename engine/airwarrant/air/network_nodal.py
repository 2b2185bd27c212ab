"""The symmetric positive definite system of the free pressures, solved quickly or carefully."""

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_layout import NumberedNetwork


def nodal_solve(net: NumberedNetwork, conductance: Floats, right: Floats) -> Floats:
    """Solve ``turned diag(conductance) incidence x = right`` for one right side (free,) or several (free, sides).

    Conductances [m3/s/Pa] are the rows', links and blower. LinAlgError where rounding has made the matrix singular.
    """
    return np.asarray(np.linalg.solve((net.turned * conductance) @ net.incidence, right), dtype=np.float64)


def nodal_solve_carefully(net: NumberedNetwork, conductance: Floats, right: Floats) -> Floats:
    """Solve the same, slower, where conductances lie so far apart that the matrix's diagonal loses the small ones.

    Eliminating a node from a net of conductances leaves a net of conductances. Kept as such, with each diagonal summed anew,
    nothing is subtracted but what differs in sign on the right.

    References
    ----------
    W. K. Grassmann, M. I. Taksar, D. P. Heyman, "Regenerative analysis and steady state distributions for Markov chains", Oper.
    Res. 33 (1985) 1107-1116. C. A. O'Cinneide, "Entrywise perturbation theory and error analysis for Markov chains", Numer. Math.
    65 (1993) 109-120.
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
        between[i + 1 :, i + 1 :] += np.multiply.outer(shares, row)
        held[i + 1 :] += shares * held[i]
        x[i + 1 :] += np.multiply.outer(shares, x[i])
    for i in reversed(range(n)):
        x[i] = (x[i] + between[i, i + 1 :] @ x[i + 1 :]) / whole[i]
    return x
