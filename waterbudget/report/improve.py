"""The screen of improving: what saves most at no cost, then every measure ranked, and the best two and three."""

import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import wcwidth

from waterbudget.change.measures import KINDS, ForSale
from waterbudget.change.paste import toml_lines
from waterbudget.change.search import LEAST_L, LEAST_MINUTES, Improvement, Tried, gain, helps, improve
from waterbudget.errors import InputError, shown
from waterbudget.report.answer import Answer
from waterbudget.report.words import count, listed, litres, percent, screen, section, span, weekly_work, wrapped
from waterbudget.simulate.opened import open_site
from waterbudget.sizing.offers import read_offers
from waterbudget.tables.cautions import cautions
from waterbudget.tables.read import UnknownKeyError, find

WORDS_WIDTH = 50  # of a measure in a table
COLUMNS = (("mains", "L"), ("time", "min/week"), ("money", "your own"), ("thirsty", "days"), ("need", "met"))
COLUMN_WIDTH = 10
LONG_DAYS = 1000
SHOWN = 5  # lines of a further ranking
NEVER_TRIED = (
    "other crops or sowing times, fewer beds, deeper or better soil, windbreaks, water from baths or sinks, another "
    "order of serving zones, and several sizes of one measure together"
)
CAUTIONS = ("type", "base", "siphon")  # subjects in the table: how to top up, the load, and water that runs on


@dataclass(frozen=True)
class Costs:
    """What measures cost. options: file of butts for sale. prices: words KIND=MONEY. water_per_m3: of mains water."""

    options: Path | None = None
    prices: tuple[str, ...] = ()
    water_per_m3: float | None = None
    by_kind: Mapping[str, float] = field(init=False)

    def __post_init__(self) -> None:
        """Raises InputError with a line for each price that cannot be read."""
        faults: list[str] = []
        read: dict[str, float] = {}
        for words in self.prices:
            try:
                kind, money = _price(words)
                read[kind] = money
            except InputError as error:
                faults += error.faults
        if self.water_per_m3 is not None and not 0.0 < self.water_per_m3 < math.inf:
            faults.append(f"--water-price: is {self.water_per_m3:g}; write what a cubic metre costs, such as 3.40")
        if faults:
            raise InputError(faults)
        object.__setattr__(self, "by_kind", read)


def _price(words: str) -> tuple[str, float]:
    name, equals, money = words.rpartition("=")
    try:
        price = float(money)
    except ValueError:
        price = math.nan
    if not equals or not 0.0 <= price < math.inf:
        raise InputError(f'--price: {shown(words)} is no price; write KIND=MONEY, such as "mulch=30"; 0 is free')
    kinds = [kind.name for kind in KINDS]
    try:
        return find(name, kinds, "measure"), price
    except UnknownKeyError as error:
        there = f'did you mean "{error.nearest[0]}"?' if error.nearest else f"there are {', '.join(kinds)}"
        raise InputError(f"--price: {shown(name)} is no kind of measure; {there}") from None


def answer_improve(
    path: Path | None, costs: Costs, *, as_json: bool, progress: Callable[[str], object] = lambda _: None
) -> Answer:
    """Try every measure on a site; progress: told where that takes long. Raises InputError for what can be mended."""
    offers = [] if costs.options is None else read_offers(costs.options)
    for_sale = [ForSale(offer.capacity_l, offer.price) for offer in offers]
    opened = open_site(path, every_year=True)
    if len(opened.weather.dates) > LONG_DAYS:
        progress(f"Trying every measure on {count(len(opened.weather.dates), 'day')}: this takes a while.")
    found = improve(opened, for_sale, costs.by_kind, costs.water_per_m3)
    return Answer(improve_json(found) if as_json else improve_screen(found), found.opened.notes)


def improve_screen(found: Improvement) -> str:
    """Everything a gardener needs to know of the measures, at most 100 columns wide."""
    saving = in_order(one for one in found.singles if found.saves_any(one))
    free, paid = ([one for one in saving if one.is_free is is_free] for is_free in (True, False))
    return screen(
        [wrapped(heading(found))],
        [wrapped(" ".join(verdict(found)))],
        measures(f"Costs nothing, saves {per(found)}", free, found),
        measures(f"Costs money, saves {per(found)}", paid, found),
        section("Ranked by your time saved", ranked(found, by_time)),
        section(f"Ranked by your own money saved {per(found)}", ranked(found, by_money)),
        section("Best two and three, found one after the other", together(found)),
        to_paste(found),
        section("What saves nothing, and what was not tried", not_tried(found)),
        section("Assumed", assumptions(found)),
        section("Take care", cautions_shown(found)),
    )


def in_order(tried: Iterable[Tried]) -> list[Tried]:
    """Those that save most mains water first; those at the plants' cost last."""
    return sorted(tried, key=gain, reverse=True)


def heading(found: Improvement) -> str:
    """The garden, how many gardens were run, and the days."""
    dates = found.now.dates
    tried = f"{count(len(found.singles), 'measure')} tried"
    return f"{found.opened.site.site.name}, {tried}: {span(dates[0], dates[-1])}"


def per(found: Improvement) -> str:
    """What a saving is of."""
    return "a year" if found.years > 1.0 else "in these days"


# ---- The verdict ---------------------------------------------------------------------------------------------------


def verdict(found: Improvement) -> Iterator[str]:
    """What saves most mains water at no cost and for money, and what saves most time."""
    now_l = found.now.needed_l / found.years
    if now_l < LEAST_L:
        yield "No mains water is needed as it is, so there is none to save."
    else:
        free = next((one for one in in_order(found.singles) if one.is_free and helps(one)), None)
        paid = next((one for one in in_order(found.singles) if not one.is_free and helps(one)), None)
        of = f"of {litres(now_l)} L of mains water {per(found)}"
        if free is not None:
            yield f"The best free change: {words_of(free)}. It saves {saved(free, found)} {of}."
        else:
            yield f"No free change saves any {of} without leaving the plants thirstier."
        if paid is not None:
            yield f"The best that costs money: {words_of(paid)}. It saves {saved(paid, found)}."
    quickest = max(found.singles, key=by_time, default=None)
    if quickest is not None and by_time(quickest) >= LEAST_MINUTES:
        yield (
            f"As it is the watering takes {weekly_work(found.now.week_minutes)}; the change that saves most of that: "
            f"{words_of(quickest)}. It saves {minutes(quickest)}."
        )
    else:
        yield f"The watering takes {weekly_work(found.now.week_minutes)}, and nothing saves any of it."


def saved(one: Tried, found: Improvement) -> str:
    """Mains water saved."""
    return f"{litres(one.saved_l / found.years)} L"


def minutes(one: Tried) -> str:
    """A person's time saved."""
    return f"{count(round(one.saved_week_minutes), 'minute')} a week"


def savings(one: Tried, found: Improvement) -> str:
    """Mains water and time saved, the time only where there is some to tell of."""
    water = f"saves {saved(one, found)} of mains water {per(found)}"
    if abs(one.saved_week_minutes) < LEAST_MINUTES:
        return water
    more = f", but takes {count(round(-one.saved_week_minutes), 'minute')} more a week"
    return f"{water} and {minutes(one)}" if one.saved_week_minutes > 0.0 else f"{water}{more}"


def words_of(one: Tried) -> str:
    """What is done."""
    return "; ".join(measure.words for measure in one.measures)


# ---- Ranked --------------------------------------------------------------------------------------------------------


def measures(title: str, tried: Sequence[Tried], found: Improvement) -> list[str]:
    """A line for each measure, the words of it broken at their column."""
    if not tried:
        return []
    lines = [
        f"{wcwidth.ljust(title, WORDS_WIDTH)}{''.join(head.rjust(COLUMN_WIDTH) for head, _ in COLUMNS)}".rstrip(),
        f"{'':<{WORDS_WIDTH}}{''.join(unit.rjust(COLUMN_WIDTH) for _, unit in COLUMNS)}".rstrip(),
    ]
    for one in tried:
        first, *others = wcwidth.wrap(f"{'! ' if one.is_thirstier else ''}{words_of(one)}", WORDS_WIDTH - 2)
        lines.append(
            f"{wcwidth.ljust(first, WORDS_WIDTH)}{''.join(cell.rjust(COLUMN_WIDTH) for cell in cells(one, found))}"
        )
        lines += [f"  {other}" for other in others]
    if any(one.is_thirstier for one in tried):
        lines.append("! at the plants' cost: with all their water given their need is met noticeably less")
    return lines


def cells(one: Tried, found: Improvement) -> tuple[str, ...]:
    """What is saved, and how the plants fare with it."""
    money = one.saved_money
    return (
        less(one.saved_l / found.years, litres),
        less(one.saved_week_minutes, "{:,.0f}".format),
        "–" if money is None else less(money / found.years, "{:,.2f}".format),
        f"{one.outcome.thirsty_days / found.years:,.0f}",
        percent(one.outcome.need_met),
    )


def less(saved: float, write: Callable[[float], str]) -> str:
    """What is saved, or how much more is taken: 18, or 4 more."""
    written = write(abs(saved))
    return f"{written} more" if saved < 0.0 and written != write(0.0) else written


def by_time(one: Tried) -> float:
    """A person's minutes a week saved, none where the plants pay for it."""
    return -math.inf if one.is_thirstier else one.saved_week_minutes


def by_money(one: Tried) -> float:
    """Money saved for mains water, none where the plants pay for it."""
    return -math.inf if one.is_thirstier or one.saved_money is None else one.saved_money


def ranked(found: Improvement, key: Any) -> Iterator[str]:  # noqa: ANN401
    """The best few by one mark, what costs nothing first."""
    least = LEAST_MINUTES if key is by_time else 0.005 * found.years  # half of the last figure that is shown
    helping = [one for one in found.singles if key(one) >= least]
    if key is by_money and found.singles and found.singles[0].water_per_m3 is None:
        yield "Not known: add --water-price, or water_per_m3 under [prices]."
    shown = sorted(helping, key=lambda one: (not one.is_free, -key(one)))[:SHOWN]
    for number, one in enumerate(shown, 1):
        yield f"{number}. {words_of(one)}: {told(one, found, key)}"


def told(one: Tried, found: Improvement, key: Any) -> str:  # noqa: ANN401
    """What a measure saves by one mark, and what it costs."""
    if key is by_time:
        return f"{minutes(one)}, {cost(one)}"
    return f"{(one.saved_money or 0.0) / found.years:,.2f}, {cost(one)}{payback(one, found)}"


def cost(one: Tried) -> str:
    """What it costs, in words."""
    if one.is_free:
        return "free"
    return "price unknown" if one.price is None else f"for {one.price:,.10g} in your own money"


def payback(one: Tried, found: Improvement) -> str:
    """Years until the mains water saved has paid for it."""
    if one.is_free or not one.price or not one.saved_money or one.saved_money <= 0.0:
        return ""
    years = one.price / (one.saved_money / found.years)
    return f", paid back in {years:,.0f} {'years' if found.years > 1.0 else 'such seasons'}"


def together(found: Improvement) -> Iterator[str]:
    """The best pair and triple, of what costs nothing and of all."""
    names = {1: "One", 2: "Two", 3: "Three"}
    for title, chain in (("at no cost", found.free), ("of all", found.any)):
        for one in chain[1:]:
            yield f"{names[len(one.measures)]} {title}: {words_of(one)}. That {savings(one, found)}."
        if not chain:
            yield f"{title.capitalize()}: no measure saves anything, so none was joined to another."
        elif len(chain) < len(names):
            yield f"{title.capitalize()}: beyond {count(len(chain), 'measure')} no other adds a saving."


def to_paste(found: Improvement) -> list[str]:
    """Lines for the site file: of the best together, at no cost and of all."""
    lines = []
    for title, chain in (("at no cost", found.free), ("of all", found.any)):
        if chain and (chain is found.free or chain[-1].measures != (found.free[-1].measures if found.free else ())):
            best = chain[-1]
            lines.append(f"The best {title}, to write into {found.opened.path}")
            lines += [f"  {line}" for line in toml_lines(found.table, best.changes)]
    return lines


# ---- What it rests on ----------------------------------------------------------------------------------------------


def not_tried(found: Improvement) -> Iterator[str]:
    """What is left out, and why."""
    nothing = [words_of(one) for one in in_order(found.singles) if not found.saves_any(one)]
    if nothing:
        yield f"Tried, and saves neither mains water nor time: {'; '.join(nothing)}."
    if found.left_out:
        yield f"Nothing to try: {listed(found.left_out)}."
    yield f"Not tried here: {NEVER_TRIED}."
    yield (
        f"{found.runs:,} gardens were run. Pairs and triples keep the best so far and add the best to it; "
        "others were not tried, and one of them may be better."
    )


def assumptions(found: Improvement) -> Iterator[str]:
    """What the figures rest on."""
    weather = found.opened.weather
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    thirsty = f"{found.now.thirsty_days / found.years:,.0f} {per(found)}"
    yield "Mains water is what the mains give and what is asked for but not given."
    yield (
        f"Thirsty days are of all beds together; as it is they are {thirsty}, "
        f"with {percent(found.now.need_met)} of the watered beds' need met."
    )
    yield (
        "At the plants' cost means half a per cent or more of that need met less (ours), as it is or with all their "
        "water given, by hose where a store has no mains: else not to water dry beds would look like a saving."
    )
    if found.singles and found.singles[0].water_per_m3 is not None:
        yield f"Money is your own, that in which a cubic metre costs {found.singles[0].water_per_m3:,.2f}."
    yield "Time is what [effort] of the site file says, of a person, for all the watering; without it the defaults."
    for takes in dict.fromkeys(measure.takes for one in found.singles for measure in one.measures if measure.takes):
        kinds = dict.fromkeys(one.measures[0].kind for one in found.singles if one.measures[0].takes == takes)
        yield f"{listed(list(kinds)).capitalize()}: {takes}."
    yield "Mulch cuts the soil's evaporation by 5 % for each 10 % of the soil covered (FAO-56 chapter 10, p. 197)."


def cautions_shown(found: Improvement) -> list[str]:
    """The cautions that the measures call for."""
    topics = ["mains top-up"] if found.now.needed_l >= LEAST_L else []
    topics += ["weight"] if any(one.measures[0].kind == "next butt size" for one in found.singles) else []
    topics += ["transfer"] if any(one.measures[0].kind == "moving water" for one in found.singles) else []
    return [one.caution for one in cautions(*topics) if one.subject in CAUTIONS] if topics else []


# ---- For machines --------------------------------------------------------------------------------------------------


def improve_json(found: Improvement) -> str:
    """All that was tried, as JSON; water and money saved are of all the days run, a person's minutes of a week."""
    told_all = {
        "site": found.opened.site.site.name,
        "start": found.now.dates[0].isoformat(),
        "end": found.now.dates[-1].isoformat(),
        "years": found.years,
        "now": {
            "needed_l": found.now.needed_l,
            "work_minutes_per_week": found.now.week_minutes,
            "valve_minutes": found.now.minutes,
            "thirsty_days": found.now.thirsty_days,
            "need_met": found.now.need_met,
        },
        "measures": [_row(one) for one in in_order(found.singles)],
        "best_free": [_row(one) for one in found.free],
        "best": [_row(one) for one in found.any],
        "nothing_to_try": list(found.left_out),
        "gardens_run": found.runs,
    }
    return json.dumps(told_all, indent=2, ensure_ascii=False)


def _row(one: Tried) -> dict[str, Any]:
    return {
        "kinds": [measure.kind for measure in one.measures],
        "words": [measure.words for measure in one.measures],
        "free": one.is_free,
        "price": one.price,
        "saved_l": one.saved_l,
        "saved_work_minutes_per_week": one.saved_week_minutes,
        "saved_money": one.saved_money,
        "thirsty_days": one.outcome.thirsty_days,
        "need_met": one.outcome.need_met,
        "thirstier": one.is_thirstier,
    }
