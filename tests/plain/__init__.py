"""The daily water book once more, as a plain program: floats, dictionaries and loops, a day at a time.

It takes nothing from the package, so the tests can hold the package's numbers against it. It checks no input.
Equations, tables and pages are those of FAO-56 (Allen et al. 1998).
"""

from plain.run import plain_run
from plain.site import BED, DRAW, JETS, MODEL, PLACE, PLANTING, POTS, ROOF, TANK, TRANSFER, ZONE, PlainTables, top_layer
from plain.summary import NOTICED_L

__all__ = [
    "BED",
    "DRAW",
    "JETS",
    "MODEL",
    "NOTICED_L",
    "PLACE",
    "PLANTING",
    "POTS",
    "ROOF",
    "TANK",
    "TRANSFER",
    "ZONE",
    "PlainTables",
    "plain_run",
    "top_layer",
]
