"""The picture of odds: the chance that the stored rain still lasts, and the level of each store in all the summers."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from waterbudget.errors import InputError
from waterbudget.odds.chances import FEW_YEARS, not_above, on_grid
from waterbudget.odds.outcomes import Odds
from waterbudget.report.figures import (
    DPI,
)
