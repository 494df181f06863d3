"""What all kinds of pages have in common."""

from typing import TYPE_CHECKING
from weakref import proxy

import numpy as np

from waterbudget.units import Array

if TYPE_CHECKING:
    from waterbudget.simulate.pages import Pages


class Part:
    """One kind of item on the pages."""

    def __init__(self, pages: "Pages") -> None:
        """pages: those that it is a part of."""
        self.pages: Pages = proxy(pages)  # a cycle would keep the arrays of many days until the collector comes

    def _kinds(self, *kinds: str) -> Array:
        """1 for tanks with mains of these kinds, (tank, 1)."""
        return np.array([[float(kind in kinds)] for kind in self.pages.structure.mains])
