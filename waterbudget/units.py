"""The array types, the functions of arrays and the unit factors that the whole package shares."""

from collections.abc import Sequence
from typing import Any, Protocol, TypeAlias, cast

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]
DateArray: TypeAlias = NDArray[np.datetime64]

MM_PER_M = 1000.0
CM_PER_M = 100.0
L_PER_M3 = 1000.0
S_PER_MIN = 60.0
MIN_PER_HOUR = 60.0
WEEK_DAYS = 7
L_PER_MM_M2 = 1.0  # a millimetre of water on a square metre is a litre, by definition

Values: TypeAlias = Array | float
Flags: TypeAlias = BoolArray | bool


class Namespace(Protocol):
    """The functions that the day loop is written with: of numpy, or of jax.numpy under the compiled engine."""

    inf: float

    def broadcast_to(self, values: Values, shape: tuple[int, ...], /) -> Array: ...
    def ceil(self, values: Array, /) -> Array: ...
    def concatenate(self, parts: Sequence[Array], /) -> Array: ...
    def floor(self, values: Array, /) -> Array: ...
    def isnan(self, values: Array, /) -> BoolArray: ...
    def logical_or(self, one: BoolArray, other: BoolArray, /) -> BoolArray: ...
    def maximum(self, one: Values, other: Values, /) -> Array: ...
    def minimum(self, one: Values, other: Values, /) -> Array: ...
    def ones_like(self, values: Array, /) -> Array: ...
    def stack(self, rows: Sequence[Array], /) -> Array: ...
    def take_along_axis(self, values: Array, places: Array, /, axis: int) -> Array: ...
    def where(self, happens: Flags, then: Values, other: Values, /) -> Array: ...
    def zeros(self, shape: tuple[int, ...], /, *, dtype: type[float] = float) -> Array: ...


NUMPY = cast("Namespace", np)


def may_count(values: Array) -> bool:
    """Whether any of the values is other than 0; while a layout is compiled nobody knows."""
    known: Any = values
    return bool(known.any()) if isinstance(known, np.ndarray) else True
