"""Rules of thumb for the size of a store, from the table of them; what they say here is to be tried in the model."""

import math
from dataclasses import dataclass

from waterbudget.tables.read import read_rows

YEAR_DAYS = 365.0


@dataclass(frozen=True)
class Circumstances:
    """What the rules ask for: demand and catch of a year [L], plan area of the roofs [m2], rain of a year [mm].

    inflow_l and rain_mm are None where the weather holds no whole year.
    """

    asked_l: float
    roof_m2: float
    inflow_l: float | None
    rain_mm: float | None


@dataclass(frozen=True)
class Rule:
    """A rule of the table. basis: what its factor multiplies."""

    rule: str
    basis: str
    factor: float
    exponent: float
    source: str
    page: str

    def size_l(self, here: Circumstances) -> float | None:
        """The capacity that it gives [L]; None where it needs what is not known or not there."""
        if self.basis == "demand_days":
            return self.factor * here.asked_l / YEAR_DAYS
        if self.basis == "roof_l_m2":
            return self.factor * here.roof_m2 or None
        if here.inflow_l is None or here.rain_mm is None:
            return None
        if self.basis == "exponential":
            return self._fitted_l(here.asked_l, here.roof_m2, here.rain_mm)
        return self.factor * (here.inflow_l if self.basis == "catch_share" else min(here.inflow_l, here.asked_l))

    def _fitted_l(self, asked_l: float, roof_m2: float, rain_mm: float) -> float | None:
        """C = factor A^1.5 exp(exponent D / (A R)); None where more is asked than falls on the roof."""
        if asked_l >= roof_m2 * rain_mm:
            return None
        return self.factor * roof_m2 * math.sqrt(roof_m2) * math.exp(self.exponent * asked_l / (roof_m2 * rain_mm))


def rules() -> list[Rule]:
    """Every rule of the table, in its order."""
    return [
        Rule(row["rule"], row["basis"], float(row["factor"]), float(row["exponent"] or 0.0), row["source"], row["page"])
        for row in read_rows("sizing_rules")
    ]
