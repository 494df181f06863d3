"""What is for sale, on the screen of a size: what it saves against what is there, and when that has paid for it."""

import math
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

import wcwidth

from waterbudget.report.words import as_given, capital, litres, percent, table, wrapped
from waterbudget.sizing.study import ROUNDING, Deal, Study, Use

DEALS_SHOWN = 8
NAME_LETTERS = 24
COARSE_FROM_YEARS = 10.0


class Market(NamedTuple):
    """What the offers are judged by.

    water_per_m3: price of mains water, None where nobody tells. per: what a mean is of, such as a year.
    """

    found: Study
    water_per_m3: float | None
    per: str

    @property
    def there(self) -> str:
        """What stands there now, in words."""
        return f"the {litres(self.found.tank.all_l)} L that are there"

    def payback_years(self, deal: Deal, use: Use) -> float | None:
        """Years until the mains water saved has cost the price, infinite for never; None where no price is known."""
        return None if self.water_per_m3 is None else deal.choice.payback_years(use.saved_l, self.water_per_m3)


class Column(NamedTuple):
    """A column of what is for sale."""

    head: str
    unit: str
    cell: Callable[[Deal], str]


def for_sale(market: Market) -> list[str]:
    """What is for sale, up to three pieces together: what it saves and when that has paid for it."""
    deals = ranked(market)
    if not deals:
        return []
    enough = cheapest(market)
    shown = deals[:DEALS_SHOWN]
    if enough is not None and enough[0] not in shown:
        shown.append(enough[0])
    own, put = _own_columns(), _use_columns(market)
    places = [("beside it", _beside), ("in its place", _in_place)] if market.found.stands else [("", _in_place)]
    ground = _ground_columns(shown)
    lines = []
    for deal in shown:
        first, *more = wcwidth.wrap(deal.choice.name, NAME_LETTERS)
        cells = [column.cell(deal) for column in own]
        cells += [cell(deal, use_of(deal)) for _, use_of in places for _, _, cell in put]
        lines.append([first, *cells, *(column.cell(deal) for column in ground)])
        lines += [[f"  {part}", *[""] * (len(lines[0]) - 1)] for part in more]
    heads = [column.head for column in own] + [head for _ in places for head, _, _ in put]
    units = [column.unit for column in own] + [unit for _ in places for _, unit, _ in put]
    return [
        *(wrapped(sentence) for sentence in buying(market)),
        "",
        *table(
            ("For sale", *heads, *(column.head for column in ground)),
            lines,
            units=("", *units, *(column.unit for column in ground)),
            over=[("", 1 + len(own)), *((words, len(put)) for words, _ in places)] if market.found.stands else (),
        ),
    ]


def ranked(market: Market) -> list[Deal]:
    """What is for sale, the quickest to pay back first; what saves nothing comes last, by its price."""

    def cost_of_a_litre(deal: Deal) -> float:
        return deal.choice.price / deal.best.saved_l if deal.best.saved_l > 0.0 else math.inf

    return sorted(market.found.deals, key=lambda deal: (cost_of_a_litre(deal), deal.choice.price))


def cheapest(market: Market) -> tuple[Deal, Use] | None:
    """The cheapest that meets the target, and where it is put; of two that cost the same the one that saves more."""
    wanted = market.found.sweep.target - ROUNDING
    meeting = [(deal, use) for deal in market.found.deals for use in deal.uses if use.outcome.met[0] >= wanted]
    return min(meeting, key=lambda one: (one[0].choice.price, -one[1].saved_l), default=None)


# ---- In words ------------------------------------------------------------------------------------------------------


def buying(market: Market) -> Iterator[str]:
    """What to buy: the quickest to pay back, the cheapest that is enough and the most litres for the money."""
    first, enough, found = ranked(market)[0], cheapest(market), market.found
    if first.best.saved_l <= 0.0:
        against = f"beside {market.there} or in their place" if found.stands else "against no store at all"
        yield f"Nothing that is for sale saves mains water, {against}: none of it ever pays back."
    elif market.water_per_m3 is None:
        yield f"Most mains water saved for the money: {_priced(first)}. {_each(market, first)}"
        yield "With --water-price, or water_per_m3 under [prices], it is told when that has paid for it."
    else:
        at = f"at {money(market.water_per_m3)} a cubic metre"
        yield f"Quickest to pay back, {at}: {_priced(first)}. {_each(market, first)}"
    if enough is None:
        yield f"Nothing that is for sale, up to three pieces together, meets {as_given(found.sweep.target)}."
    else:
        deal, use = enough
        at = f"{deal.choice.name} {_where(market, deal, use)}, for {money(deal.choice.price)}"
        yield f"Cheapest that meets {as_given(found.sweep.target)}: {at}{_back(market, deal, use, '; it')}."
    singles = [deal for deal in found.deals if len(deal.choice.pieces) == 1 and deal.choice.price]
    if singles:
        most = max(singles, key=lambda deal: deal.choice.capacity_l / deal.choice.price)
        holds = f"{litres(most.choice.capacity_l)} L"
        yield f"Most store for the money: {_priced(most)}, holds {holds}{_back(market, most, most.best, '; it')}."


def _priced(deal: Deal) -> str:
    return f"{deal.choice.name}, for {money(deal.choice.price)}"


def _each(market: Market, deal: Deal) -> str:
    """What it saves wherever it may be put, and when that has paid for it, as a sentence."""
    told: list[str] = []
    for use in deal.uses:
        of = "" if told else f" of mains water {market.per}"
        saves = f"saves {litres(use.saved_l)} L{of}" if use.saved_l > 0.0 else "saves nothing"
        told.append(f"{_where(market, deal, use)} it {saves}{_back(market, deal, use, ' and')}")
    return f"{capital('; '.join(told))}."


def _where(market: Market, deal: Deal, use: Use) -> str:
    if not market.found.stands:
        return "as the first store"
    return f"beside {market.there}" if use is deal.beside else "in their place"


def _back(market: Market, deal: Deal, use: Use, lead: str) -> str:
    """When it has paid for itself; nothing where no price of water is known."""
    years = market.payback_years(deal, use)
    if years is None:
        return ""
    return f"{lead} never pays back" if math.isinf(years) else f"{lead} pays back in {years_told(years)} years"


def money(amount: float) -> str:
    """A price without a currency: 85, or 84.50."""
    return f"{amount:,.0f}" if amount == round(amount) else f"{amount:,.2f}"


def years_told(years: float) -> str:
    """Years, to one decimal where they are few, or never."""
    if math.isinf(years):
        return "never"
    return f"{years:,.1f}" if years < COARSE_FROM_YEARS else f"{years:,.0f}"


# ---- The table -----------------------------------------------------------------------------------------------------


def _own_columns() -> list[Column]:
    return [
        Column("holds", "L = kg", lambda deal: litres(deal.choice.capacity_l)),
        Column("price", "", lambda deal: money(deal.choice.price)),
    ]


def _use_columns(market: Market) -> list[tuple[str, str, Callable[[Deal, Use], str]]]:
    """Head, unit and cell of what stands there for each place that it may be put."""

    def pays_back(deal: Deal, use: Use) -> str:
        years = market.payback_years(deal, use)
        return "" if years is None else years_told(years)

    columns: list[tuple[str, str, Callable[[Deal, Use], str]]] = [("saves", "L", lambda _, use: litres(use.saved_l))]
    if market.water_per_m3 is not None:
        columns.append(("pays back", "years", pays_back))
    return [*columns, ("met", "", lambda _, use: percent(use.outcome.met[0]))]


def _ground_columns(shown: list[Deal]) -> list[Column]:
    if not any(deal.choice.footprint_m2 for deal in shown):
        return []
    return [Column("ground", "m²", lambda deal: _known(deal.choice.footprint_m2, ".2f"))]


def _in_place(deal: Deal) -> Use:
    return deal.in_place


def _beside(deal: Deal) -> Use:
    return deal.in_place if deal.beside is None else deal.beside


def _known(number: float | None, form: str) -> str:
    return "–" if number is None else format(number, form)


# ---- For machines --------------------------------------------------------------------------------------------------


def for_sale_json(market: Market) -> dict[str, Any]:
    """What is for sale, ranked, as JSON; a payback that never comes is null."""
    return {
        "water_per_m3": market.water_per_m3,
        "against_l": market.found.tank.all_l if market.found.stands else 0.0,
        "for_sale": [
            {
                "pieces": [piece.name for piece in deal.choice.pieces],
                "capacity_l": deal.choice.capacity_l,
                "price": deal.choice.price,
                "weight_kg": deal.choice.weight_kg,
                "footprint_m2": deal.choice.footprint_m2,
                "height_m": deal.choice.height_m,
                "in_its_place": _use(market, deal, deal.in_place),
                "beside_it": None if deal.beside is None else _use(market, deal, deal.beside),
            }
            for deal in ranked(market)
        ],
    }


def _use(market: Market, deal: Deal, use: Use) -> dict[str, float | None]:
    payback = market.payback_years(deal, use)
    return {
        "saved_l_per_year": use.saved_l,
        "payback_years": None if payback is None or math.isinf(payback) else payback,
        "met": float(use.outcome.met[0]),
    }
