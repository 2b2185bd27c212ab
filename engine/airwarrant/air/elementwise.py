"""Functions that take a number or an array alike: one set of equations for one house and for many draws at once.

Numbers go through the standard library; numpy is imported only where an array comes in.
"""

import math
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Value = TypeVar("Value", float, NDArray[np.float64])
else:
    Value = TypeVar("Value")


def exp(x: Value) -> Value:
    """e to the power of each element."""
    if isinstance(x, (float, int)):
        return math.exp(x)
    import numpy as np

    return np.exp(x)


def log(x: Value) -> Value:
    """Natural logarithm of each element.

    Raises
    ------
    ValueError
        For a number that is not above 0; an array's elements become NaN or -inf there, with numpy's warning.
    """
    if isinstance(x, (float, int)):
        return math.log(x)
    import numpy as np

    return np.log(x)


def power(x: Value, exponent: float) -> Value:
    """Each element, 0 or more, to one power."""
    if isinstance(x, (float, int)):
        return math.pow(x, exponent)
    import numpy as np

    return np.power(x, exponent)


def at_most(x: Value, most: float) -> Value:
    """Each element, or `most` where it is larger."""
    if isinstance(x, (float, int)):
        return min(x, most)
    import numpy as np

    return np.minimum(x, most)


def at_least(x: Value, least: float) -> Value:
    """Each element, or `least` where it is smaller."""
    if isinstance(x, (float, int)):
        return max(x, least)
    import numpy as np

    return np.maximum(x, least)
