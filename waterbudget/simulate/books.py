"""What is booked of a day, as little as tells the rest."""

from typing import NamedTuple

from waterbudget.units import Array, Values

SHORT_L = 1e-6  # a demand, shortage, move or top-up up to this is rounding
Rows = list[Array]  # a row (lane,) an item


class TankDay(NamedTuple):
    """Litres of one tank, (lane,).

    let_in_l: through a float valve in the morning. wet_l: drawn from what the store held. mains_share: of mains water
    in the day's mixture. level_l: in the evening.
    """

    let_in_l: Values
    inflow_l: Array
    asked_l: Values
    wet_l: Array
    mains_share: Values
    spilled_l: Array
    lost_l: Values
    level_l: Array


class TankBook(NamedTuple):
    """The tanks one by one, and all water and the mains water in them in the evening [L], (tank, lane)."""

    each: list[TankDay]
    level_l: Array
    mains_l: Array


class Flow(NamedTuple):
    """How the outlets flow with their stores as they stand.

    factor: flow over that from a full store, (outlet, lane), None where no level has a say. l_min: (outlet, lane),
    infinite where nothing flows, so that no litres take no minutes. mm_per_l: what a litre of its zone brings each bed
    [mm], (bed, lane).
    """

    factor: Array | None
    l_min: Array
    mm_per_l: Array


class OutletBook(NamedTuple):
    """Litres by outlet, (outlet, lane).

    wet_l: what its store held of what was asked for. made_up_l: what the mains gave in place of what the store lacked,
    None where no store has mains water. flow: with the stores as they stood, None where no level has a say.
    """

    asked_l: Array
    wet_l: Array
    made_up_l: Array | None
    flow: Flow | None

    @property
    def given_l(self) -> Array:
        """What the outlet gave."""
        return self.wet_l if self.made_up_l is None else self.wet_l + self.made_up_l


class BedBook(NamedTuple):
    """Root zones, (bed, lane); depletion_mm in the evening, eve_mm in the one before.

    ke, e_mm, de_mm: with the dual coefficient only.
    """

    ks: Array
    eta_mm: Array
    irrigation_mm: Array
    drained_mm: Array
    eve_mm: Array
    depletion_mm: Array
    ke: Array | None
    e_mm: Array | None
    de_mm: Array | None


class Book(NamedTuple):
    """Everything that was booked on one day; moved_l: a row a transfer."""

    moved_l: Rows
    tanks: TankBook
    outlets: OutletBook
    beds: BedBook
