"""The array type and the unit factors that the whole package shares."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]

MM_PER_M = 1000.0
CM_PER_M = 100.0
L_PER_M3 = 1000.0
S_PER_MIN = 60.0
MIN_PER_HOUR = 60.0
WEEK_DAYS = 7
L_PER_MM_M2 = 1.0  # a millimetre of water on a square metre is a litre, by definition
