"""What becomes of the water in the stores on a day: moved, let in, caught, drawn, spilled. xp: numpy or jax.numpy."""

from collections.abc import Sequence
from typing import NamedTuple

from waterbudget.physics.tank import evening, let_in, mains_share, share_out, total, within_reach
from waterbudget.schedule.garden import Garden
from waterbudget.schedule.today import Today
from waterbudget.simulate.books import TankBook, TankDay
from waterbudget.simulate.state import State
from waterbudget.units import Array, Namespace


class Morning(NamedTuple):
    """The stores after the day's transfers: rows (lane,) of level_l and mains_l by tank; moved_l by transfer."""

    level_l: Sequence[Array] | Array
    mains_l: Sequence[Array] | Array
    moved_l: list[Array]


def transfer(xp: Namespace, garden: Garden, today: Today, state: State) -> Morning:
    """Water moved from store to store, in the order listed, each on the levels that the one before left."""
    morning = Morning(state.level_l, state.mains_l, [])
    for number in range(len(garden.structure.moves)):
        morning = moved(xp, garden, today, number, morning)
    return morning


def moved(xp: Namespace, garden: Garden, today: Today, number: int, stores: Morning) -> Morning:
    """The stores after one transfer, which takes its share of mains water along."""
    (giver, taker), transfers, tanks = garden.structure.moves[number], garden.transfers, garden.tanks
    from_l, to_l = stores.level_l[giver], stores.level_l[taker]
    spare_l = from_l - xp.maximum(transfers.keep_l[number], tanks.dead_l[giver])
    room_l = tanks.capacity_l[taker] - to_l
    most_l = xp.minimum(xp.minimum(transfers.l_per_day[number], spare_l), room_l)
    is_wanted = today.moves[number] & (to_l < transfers.below_l[number])
    moved_l = xp.where(is_wanted, xp.maximum(most_l, 0.0), 0.0)
    level_l, mains_l = list(stores.level_l), list(stores.mains_l)
    level_l[giver], level_l[taker] = from_l - moved_l, to_l + moved_l
    if garden.structure.holds_mains[giver]:
        along_l = mains_share(xp, mains_l[giver], from_l) * moved_l
        mains_l[giver], mains_l[taker] = mains_l[giver] - along_l, mains_l[taker] + along_l
    return Morning(level_l, mains_l, [*stores.moved_l, moved_l])


def draw(
    xp: Namespace, garden: Garden, today: Today, state: State, morning: Morning, asked_l: Array
) -> tuple[TankBook, Array]:
    """Each tank in turn, upstream first: what is booked, and what each outlet gets from its store [L]."""
    structure = garden.structure
    days: dict[int, TankDay] = {}
    served: list[Array] = []
    for tank in structure.downhill:
        days[tank], given_l = tank_day(xp, garden, today, morning, asked_l, tank, days)
        served += given_l
    of_tanks = [days[tank] for tank in range(len(days))]
    mains_l = state.mains_l
    if any(structure.holds_mains):
        mains_l = rows_of(xp, [day.mains_share * day.level_l for day in of_tanks], len(of_tanks))
    store_l = rows_of(xp, served, len(asked_l)).take(structure.served_in_order, axis=0) if served else asked_l
    level_l = rows_of(xp, [day.level_l for day in of_tanks], len(of_tanks))
    return TankBook(of_tanks, level_l, mains_l), store_l


def rows_of(xp: Namespace, rows: list[Array], count: int) -> Array:
    """So many rows (lane,), some of them end to end, as (row, lane); for few lanes far quicker than to stack them."""
    return xp.concatenate(rows).reshape(count, -1)


def tank_day(
    xp: Namespace,
    garden: Garden,
    today: Today,
    morning: Morning,
    asked_l: Array,
    tank: int,
    upstream: dict[int, TankDay],
) -> tuple[TankDay, list[Array]]:
    """One tank: float valve, inflow, what is handed out rank after rank, spill and leak; and what each rank gets."""
    structure, tanks = garden.structure, garden.tanks
    from_above = [upstream[upper] for upper in structure.spill_from[tank]]
    let_in_l: Array | float = 0.0
    stored_l, inflow_l = morning.level_l[tank], today.caught_l[tank]
    if structure.mains[tank] == "float":
        let_in_l = float_valve(xp, garden, today, tank, stored_l)
        stored_l = stored_l + let_in_l
    for upper in from_above:
        inflow_l = inflow_l + upper.spilled_l
    if today.logged is not None:
        inflow_l = inflow_l + today.logged.mains_added_l[tank]
    left_l = reach_l = within_reach(xp, stored_l + inflow_l if structure.before_spill else stored_l, tanks.dead_l[tank])
    given_l, wanted_l = [], []
    for rank in structure.ranks[tank]:
        rank_given_l, rank_wants_l, left_l = share_out(xp, asked_l[rank], left_l)
        given_l.append(rank_given_l.ravel())
        wanted_l.append(rank_wants_l)
    all_want_l = total(wanted_l)
    wet_l = xp.minimum(all_want_l, reach_l)
    share: Array | float = 0.0
    if structure.holds_mains[tank]:
        mains_l = morning.mains_l[tank] + let_in_l + total([day.mains_share * day.spilled_l for day in from_above])
        if today.logged is not None:
            mains_l = mains_l + today.logged.mains_added_l[tank]
        share = mains_share(xp, mains_l, stored_l + inflow_l)
    loss_l = tanks.loss_l_per_day[tank] if garden.leaks[tank] else None
    rest = evening(xp, stored_l, inflow_l, wet_l, tanks.capacity_l[tank], loss_l, before_spill=structure.before_spill)
    return TankDay(let_in_l, inflow_l, all_want_l, wet_l, share, *rest), given_l


def float_valve(xp: Namespace, garden: Garden, today: Today, tank: int, level_l: Array) -> Array:
    """What a float valve lets in [L], nothing under a ban."""
    let_in_l = let_in(xp, level_l, garden.tanks.float_below_l[tank], garden.tanks.float_to_l[tank])
    return let_in_l if today.valve_open is None else let_in_l * today.valve_open[0]
