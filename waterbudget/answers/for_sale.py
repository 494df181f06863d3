"""What is for sale in words: what to buy, what it saves beside what is there or in its place, when that has paid."""

import math
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import as_given, capital, litres, money, percent
from waterbudget.answers.size_verdict import per
from waterbudget.blocks import Cell, Column, Table
from waterbudget.errors import Said
from waterbudget.sizing.market import Market
from waterbudget.sizing.study import Deal, Use

DEALS_SHOWN = 4
COARSE_FROM_YEARS = 10.0


class UseFacts(TypedDict):
    """An offer in a place; payback_years is null where it never pays back, pays_back where no price is known."""

    saved_l_per_year: float
    volume_reliability: float
    pays_back: bool | None
    payback_years: float | None


class DealFacts(TypedDict):
    """One to three pieces; footprint and height are null where a piece does not tell."""

    pieces: list[str]
    capacity_l: float
    price: float
    weight_kg: float
    footprint_m2: float | None
    tallest_m: float | None
    in_its_place: UseFacts
    beside_it: UseFacts | None


def deal_facts(market: Market) -> list[DealFacts]:
    """What is for sale, the quickest to pay back first."""
    return [
        {
            "pieces": [piece.name for piece in deal.choice.pieces],
            "capacity_l": deal.choice.capacity_l,
            "price": deal.choice.price,
            "weight_kg": deal.choice.weight_kg,
            "footprint_m2": deal.choice.footprint_m2,
            "tallest_m": deal.choice.height_m,
            "in_its_place": _use_facts(market, deal, deal.in_place),
            "beside_it": None if deal.beside is None else _use_facts(market, deal, deal.beside),
        }
        for deal in market.ranked
    ]


def _use_facts(market: Market, deal: Deal, use: Use) -> UseFacts:
    payback = market.payback_years(deal, use)
    return {
        "saved_l_per_year": use.saved_l,
        "volume_reliability": float(use.outcome.met[0]),
        "pays_back": None if payback is None else math.isfinite(payback),
        "payback_years": None if payback is None or math.isinf(payback) else payback,
    }


# ---- What to buy -----------------------------------------------------------------------------------------------------


def buying(market: Market) -> Iterator[str]:
    """What to buy: the cheapest that is enough, the quickest to pay back and the most litres for the money."""
    if not market.found.deals:
        return
    yield _enough(market)
    yield _quickest(market)
    most = market.most_store
    if most is not None and most is not market.ranked[0]:
        holds, back = f"{litres(most.choice.capacity_l)} L", _back(market, most, most.best, "; it")
        yield f"Most store for the money: {_priced(market, most)}, holds {holds}{back}."


def _enough(market: Market) -> str:
    target = as_given(market.found.sweep.target)
    if market.is_enough:
        return f"Nothing need be bought to meet {target}: {_there(market)} do."
    if market.cheapest is None:
        return f"Nothing that is for sale, up to three pieces together, meets {target}."
    deal, use = market.cheapest
    at = f"{deal.choice.name} {_where(market, deal, use)}, for {_price(market, deal)}"
    return f"Cheapest that meets {target}: {at}{_back(market, deal, use, '; it')}."


def _quickest(market: Market) -> str:
    first, found = market.ranked[0], market.found
    if first.best.saved_l <= 0.0:
        against = f"beside {_there(market)} or in their place" if found.stands else "against no store at all"
        return f"Nothing that is for sale saves mains water, {against}: none of it ever pays back."
    if market.water_per_m3 is None:
        most = f"Most mains water saved for the money: {_priced(market, first)}. {_each(market, first)}"
        price, hear = "Give the price of a cubic metre", "to hear when that has paid for it."
        typed = f"{most} {price} (--water-price, or water_per_m3 under [prices]) {hear}"
        return Said(typed, f"{most} {price} {hear}")
    at = f"water at {money(market.water_per_m3, currency(market))} a cubic metre"
    return f"Quickest to pay back ({at}): {_priced(market, first)}. {_each(market, first)}"


def currency(market: Market) -> str | None:
    """The sign or letters of the money, where the site file has it."""
    return market.found.site.prices.currency


def _price(market: Market, deal: Deal) -> str:
    return money(deal.choice.price, currency(market))


def _priced(market: Market, deal: Deal) -> str:
    return f"{deal.choice.name}, for {_price(market, deal)}"


def _each(market: Market, deal: Deal) -> str:
    """What it saves wherever it may be put, and when that has paid for it, as a sentence."""
    told: list[str] = []
    for use in deal.uses:
        of = "" if told else f" of mains {per(market.found)}"
        saves = f"saves {litres(use.saved_l)} L{of}" if use.saved_l > 0.0 else "saves nothing"
        told.append(f"{_where(market, deal, use)} it {saves}{_back(market, deal, use, ' and')}")
    return f"{capital('; '.join(told))}."


def _there(market: Market) -> str:
    """What stands there now."""
    return f"the {litres(market.found.tank.all_l)} L that are there"


def _where(market: Market, deal: Deal, use: Use) -> str:
    if not market.found.stands:
        return "as the first store"
    return f"beside {_there(market)}" if use is deal.beside else "in their place"


def _back(market: Market, deal: Deal, use: Use, lead: str) -> str:
    """When it has paid for itself; nothing where no price of water is known."""
    years = market.payback_years(deal, use)
    if years is None:
        return ""
    if math.isinf(years):
        return f"{lead} never pays back"
    return f"{lead} pays back {f'in {paid_back(years)}' if years else 'at once'}"


def paid_back(years: float) -> str:
    """Years until something has paid for itself, to one decimal where they are few."""
    if math.isinf(years):
        return "never"
    if years == 0.0:
        return "at once"
    return f"{years:,.1f} years" if years < COARSE_FROM_YEARS else f"{years:,.0f} years"


# ---- The table -------------------------------------------------------------------------------------------------------


def offers(market: Market) -> Table:
    """The quickest to pay back, and the cheapest that is enough, beside what is there or as the first store."""
    place = "beside" if market.found.stands else ""
    columns = (
        Column("offer", "For sale"),
        Column("capacity_l", "holds", "L = kg", litres),
        Column("price", "price", currency(market) or "", money),
        *_use_columns(market, place),
    )
    shown = _shown(market)
    rows = tuple(
        (deal.choice.name, deal.choice.capacity_l, deal.choice.price, *_use_cells(market, deal, deal.uses[0]))
        for deal in shown
    )
    beside = f"Beside {_there(market)}"
    below = (Said(f"{beside}; --full tells it for in their place.", f"{beside}."),) if place and shown else ()
    return Table("What is for sale", columns, rows, below)


def _use_columns(market: Market, place: str) -> list[Column]:
    """What a use saves, when that has paid for it, and what it meets."""
    end = f"_{place}" if place else ""
    columns = [Column(f"saved_l_per_year{end}", "saves", f"L {place}".strip(), litres)]
    if market.water_per_m3 is not None:
        columns.append(Column(f"payback_years{end}", "paid back", place, paid_back))
    return [*columns, Column(f"volume_reliability{end}", "meets", place, percent)]


def _use_cells(market: Market, deal: Deal, use: Use) -> list[Cell]:
    years = market.payback_years(deal, use)
    return [use.saved_l, *([] if years is None else [years]), float(use.outcome.met[0])]


def _shown(market: Market) -> list[Deal]:
    shown = market.ranked[:DEALS_SHOWN]
    cheapest = market.cheapest
    return [*shown, cheapest[0]] if cheapest is not None and cheapest[0] not in shown else shown


def more_of_offers(market: Market) -> Table:
    """The same offers in the place of what is there, and the room that they take."""
    stands, shown = market.found.stands, _shown(market)
    columns = (
        Column("offer", "More of them"),
        *(_use_columns(market, "instead") if stands else []),
        Column("footprint_m2", "ground", "m²", "{:.2f}".format),
        Column("tallest_m", "tallest", "m", "{:.2f}".format),
    )
    rows = tuple(
        (
            deal.choice.name,
            *(_use_cells(market, deal, deal.in_place) if stands else []),
            deal.choice.footprint_m2,
            deal.choice.height_m,
        )
        for deal in shown
    )
    left_out = len(market.found.deals) - len(shown)
    every = f"all {len(market.found.deals)}, up to three pieces together."
    below = (Said(f"--json has {every}", f"These are the best of {every}"),) if left_out else ()
    return Table("What else is known of what is for sale", columns, rows, below, full=True)
