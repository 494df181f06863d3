"""What would save most mains water, time and money, in words: what is free first, then what costs money."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import pairwise

from typing_extensions import TypedDict

from waterbudget.answers.care import AIR_GAP, PLUMBER
from waterbudget.answers.english import capital, count, listed, litres, money, percent, span, weekly_work
from waterbudget.answers.facts import Common, period
from waterbudget.answers.measures import MeasuresFacts, left_out, measure_words, measures_facts, takes_of
from waterbudget.answers.unaided import UnaidedFacts, unaided_facts, unaided_words
from waterbudget.blocks import Answer, Bullets, Cell, Column, Picture, Table
from waterbudget.change.paste import toml_lines
from waterbudget.change.search import LEAST_L, LEAST_MINUTES, Improvement, Tried, gain, helps
from waterbudget.errors import Said
from waterbudget.tables.cautions import cautions as of_topics

SHOWN = 5  # lines of a further ranking
FREE, PAID, SHORT = 2, 2, 4  # rows and columns of the short table
NEVER_TRIED = (
    "other crops or sowing times, fewer beds, deeper or better soil, windbreaks, water from baths or sinks, another "
    "order of serving zones, and several sizes of one measure together"
)
UNPRICED = Said('? No price is known: tell it, such as --price "shade net=45".', "? No price is known.")
MOVING = "moving water"  # the kind of measure
NUMBERS = {1: "One", 2: "Two", 3: "Three"}


class Now(TypedDict):
    """The garden as it is, over all days."""

    needed_l: float
    work_minutes_per_week: float
    minutes: float
    thirsty_days: int
    need_met: float | None


class Facts(Common):
    """All that was tried. best_free, best: the best single, pair and triple, of what is free and of all."""

    years: float
    now: Now
    measures: list[MeasuresFacts]
    best_free: list[MeasuresFacts]
    best: list[MeasuresFacts]
    nothing_to_try: list[str]
    gardens_run: int
    unaided: UnaidedFacts | None


def answer(found: Improvement) -> Answer:
    """The measures in words."""
    dates = found.now.dates
    saving = in_order(one for one in found.singles if found.saves_any(one))
    free, paid = ([one for one in saving if one.is_free is is_free] for is_free in (True, False))
    return Answer(
        "improve",
        f"{found.opened.site.site.name}, {count(len(found.singles), 'measure')} tried, {span(dates[0], dates[-1])}",
        tuple(verdict(found)),
        (
            Bullets("help", "", tuple(chains(found))),
            best_table(free, paid, found),
            every_table(free, paid, found),
            Picture("improve", f"The mains water and the time that the measures save. {' '.join(verdict(found))}"),
            Bullets("tell", "Ranked by your time saved", tuple(ranked(found, by_time))),
            Bullets("tell", f"Ranked by money saved {per(found)}", tuple(ranked(found, by_money))),
            Bullets("tell", "Two or three together, found one after the other", tuple(together(found))),
            *to_paste(found),
            Bullets("tell", "What saves nothing, and what was not tried", tuple(not_tried(found))),
            Bullets("tell", "How far from the best", tuple(unaided_words(found.unaided))),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "Take care", tuple(cautions(found))),
        ),
        facts(found),
        found.opened.notes,
    )


def in_order(tried: Iterable[Tried]) -> list[Tried]:
    """Those that save most mains water first; those at the plants' cost last."""
    return sorted(tried, key=gain, reverse=True)


def per(found: Improvement) -> str:
    """What a saving is of."""
    return "a year" if found.years > 1.0 else "in these days"


# ---- The verdict -----------------------------------------------------------------------------------------------------


def verdict(found: Improvement) -> Iterator[str]:
    """What saves most mains water, free and for money, and what saves most time."""
    yield " ".join(most_water(found))
    quickest = max(found.singles, key=by_time, default=None)
    takes = f"The watering takes {weekly_work(found.now.week_minutes)}"
    if quickest is not None and by_time(quickest) >= LEAST_MINUTES:
        yield f"{takes}. To save {minutes(quickest)}: {words_of(quickest, found)}."
    else:
        yield f"{takes}, and nothing saves any of it."


def most_water(found: Improvement) -> Iterator[str]:
    """What saves most mains water, free and for money."""
    now_l = found.now.needed_l / found.years
    if now_l < LEAST_L:
        yield "No mains water is needed as it is, so there is none to save."
    else:
        free = next((one for one in in_order(found.singles) if one.is_free and helps(one)), None)
        paid = next((one for one in in_order(found.singles) if not one.is_free and helps(one)), None)
        of = f"of {litres(now_l)} L of mains water {per(found)}"
        if free is not None:
            yield f"The best free change: {words_of(free, found)}. It saves {saved(free, found)} {of}."
        else:
            yield f"No free change saves any {of} without leaving the plants thirstier."
        if paid is not None:
            yield f"The best that costs money: {words_of(paid, found)}. It saves {saved(paid, found)}."


def saved(one: Tried, found: Improvement) -> str:
    """Mains water saved."""
    return f"{litres(one.saved_l / found.years)} L"


def minutes(one: Tried) -> str:
    """Your time saved."""
    return f"{count(round(one.saved_week_minutes), 'minute')} a week"


def words_of(one: Tried, found: Improvement) -> str:
    """What is done."""
    return "; ".join(measure_words(measure, found.opened.site) for measure in one.measures)


# ---- Together --------------------------------------------------------------------------------------------------------


def chains(found: Improvement) -> Iterator[str]:
    """The most of what is free that is worth doing together, and of all."""
    free, every = found.free[-1:], found.any[-1:]
    for one in free:
        if len(one.measures) > 1:
            yield f"{joined(one, found, 'free')}: {words_of(one, found)}.{_why_more(found.free, found)}"
    for one in every:
        if len(one.measures) > 1 and not one.is_free:
            told = f"{joined(one, found, '')}, not all of them free: {words_of(one, found)}."
            yield told + _why_more(found.any, found)


def _why_more(chain: Sequence[Tried], found: Improvement) -> str:
    """Why changes save more together than each by itself: a store less drawn from can spare what it gives."""
    alone_l = {(one.measures[0].kind, one.measures[0].thing): one.saved_l for one in found.singles}
    for before, after in pairwise(chain):
        new = after.measures[-1]
        more_l = after.saved_l - before.saved_l - alone_l.get((new.kind, new.thing), math.inf)
        for row in (row for one in before.measures if one.kind == MOVING for _, row in one.changes):
            if isinstance(row, dict):
                spared_l = _short_l(before, row["from_tank"]) - _short_l(after, row["from_tank"])
                if min(more_l, spared_l) / found.years >= LEAST_L:
                    return f" More together: {row['from_tank']} can then spare what goes to {row['to_tank']}."
    return ""


def _short_l(one: Tried, store: str) -> float:
    """What a store lacked of what was asked of it [L]."""
    return sum(float(row["short_l"]) for row in one.outcome.summary["tanks"] if row["name"] == store)


def joined(one: Tried, found: Improvement, kind: str) -> str:
    """What several changes save and cost: Two free changes save 2,790 L but cost 6 minutes a week."""
    said = f"{NUMBERS[len(one.measures)]} {f'{kind} ' if kind else ''}changes save {saved(one, found)}"
    if abs(one.saved_week_minutes) < LEAST_MINUTES:
        return said
    if one.saved_week_minutes > 0.0:
        return f"{said} and {minutes(one)}"
    return f"{said} but cost {count(round(-one.saved_week_minutes), 'minute')} a week"


def together(found: Improvement) -> Iterator[str]:
    """The best pair and triple, of what is free and of all."""
    for kind, chain in (("free", found.free), ("", found.any)):
        for one in chain[1:]:
            yield f"{joined(one, found, kind)}{'' if kind else ', money or not'}: {words_of(one, found)}."
        of = "Of what is free" if kind else "Of all"
        if not chain:
            yield f"{of}: no measure saves anything, so none was joined to another."
        elif len(chain) < len(NUMBERS):
            yield f"{of}: beyond {count(len(chain), 'measure')} no other adds a saving."


def to_paste(found: Improvement) -> Iterator[Bullets]:
    """Lines for the site file: of the best together, free and of all."""
    for title, chain in (("free changes", found.free), ("changes of all", found.any)):
        if chain and (chain is found.free or chain[-1].measures != (found.free[-1].measures if found.free else ())):
            lines = tuple(toml_lines(found.table, chain[-1].changes))
            yield Bullets("paste", f"The best {title}, to write into {found.opened.path}:", lines, full=True)


# ---- The tables ------------------------------------------------------------------------------------------------------


def best_table(free: Sequence[Tried], paid: Sequence[Tried], found: Improvement) -> Table:
    """What saves most: a few that are free, then a few that are not."""
    few = [*_sound(free)[:FREE], *_sound(paid)[:PAID]]
    rows = tuple(_row(one, found)[:SHORT] for one in few)
    below = () if all(one.is_free or one.price is not None for one in few) else (UNPRICED,)
    return Table(f"What saves most, {per(found)}", _columns(found)[:SHORT], rows, below)


def _sound(tried: Sequence[Tried]) -> list[Tried]:
    return [one for one in tried if not one.is_thirstier]


def every_table(free: Sequence[Tried], paid: Sequence[Tried], found: Improvement) -> Table:
    """A row for each measure that saves anything, what is free first; those at the plants' cost are marked."""
    rows: list[tuple[Cell, ...]] = []
    for title, tried in (("Free", free), ("For money", paid)):
        rows += [(title,), *(_row(one, found) for one in tried)] if tried else []
    marked = any(one.is_thirstier for one in (*free, *paid))
    below = ("! at the plants' cost: with all their water given their need is met noticeably less",) if marked else ()
    return Table(f"All that saves anything, {per(found)}", _columns(found), tuple(rows), below, full=True)


def _columns(found: Improvement) -> tuple[Column, ...]:
    currency = found.opened.site.prices.currency
    pays = (Column("saved_money", "money", write=partial(less, write=partial(money, currency=currency))),)
    return (
        Column("words", "Change", most=44),
        Column("price", "costs", write=partial(_cost, currency=currency), none="?", is_text=False),
        Column("saved_l", "saves", "L", partial(less, write=litres)),
        Column("saved_work_minutes_per_week", "time", "min/week", partial(less, write="{:,.0f}".format)),
        *(pays if _price_of_water(found) is not None else ()),
        Column("thirsty_days", "thirsty", "days", "{:,.0f}".format),
        Column("need_met", "need met", "", percent),
    )


def _row(one: Tried, found: Improvement) -> tuple[Cell, ...]:
    saved_money = () if one.saved_money is None else (one.saved_money / found.years,)
    return (
        f"{'! ' if one.is_thirstier else ''}{words_of(one, found)}",
        0.0 if one.is_free else one.price,
        one.saved_l / found.years,
        one.saved_week_minutes,
        *saved_money,
        one.outcome.thirsty_days / found.years,
        one.outcome.need_met,
    )


def _price_of_water(found: Improvement) -> float | None:
    return found.singles[0].water_per_m3 if found.singles else None


def _cost(price: float, currency: str | None) -> str:
    return money(price, currency) if price > 0.0 else "free"


def less(saving: float, write: Callable[[float], str]) -> str:
    """What is saved, or how much more is taken: 18, or 4 more."""
    written = write(abs(saving))
    return f"{written} more" if saving < 0.0 and written != write(0.0) else written


# ---- Ranked ----------------------------------------------------------------------------------------------------------


def by_time(one: Tried) -> float:
    """A person's minutes a week saved, none where the plants pay for it."""
    return -math.inf if one.is_thirstier else one.saved_week_minutes


def by_money(one: Tried) -> float:
    """Money saved for mains water, none where the plants pay for it."""
    return -math.inf if one.is_thirstier or one.saved_money is None else one.saved_money


def ranked(found: Improvement, key: Callable[[Tried], float]) -> Iterator[str]:
    """The best few by one mark, what is free first."""
    least = LEAST_MINUTES if key is by_time else 0.005 * found.years  # half of the last figure that is shown
    helping = [one for one in found.singles if key(one) >= least]
    if key is by_money and found.singles and _price_of_water(found) is None:
        yield Said(
            "Not known: add --water-price, or water_per_m3 under [prices].",
            "Not known: tell the garden what a cubic metre of mains water costs.",
        )
    shown = sorted(helping, key=lambda one: (not one.is_free, -key(one)))[:SHOWN]
    for number, one in enumerate(shown, 1):
        yield f"{number}. {words_of(one, found)}: {told(one, found, key)}"


def told(one: Tried, found: Improvement, key: Callable[[Tried], float]) -> str:
    """What a measure saves by one mark, and what it costs."""
    if key is by_time:
        return f"{minutes(one)}, {cost(one, found)}"
    saves = money((one.saved_money or 0.0) / found.years, found.opened.site.prices.currency)
    return f"{saves}, {cost(one, found)}{payback(one, found)}"


def cost(one: Tried, found: Improvement) -> str:
    """What it costs, in words."""
    if one.is_free:
        return "free"
    return "price unknown" if one.price is None else f"for {money(one.price, found.opened.site.prices.currency)}"


def payback(one: Tried, found: Improvement) -> str:
    """Years until the mains water saved has paid for it."""
    if one.is_free or not one.price or not one.saved_money or one.saved_money <= 0.0:
        return ""
    years = one.price / (one.saved_money / found.years)
    return f", paid back in {years:,.0f} {'years' if found.years > 1.0 else 'such seasons'}"


# ---- What it rests on ------------------------------------------------------------------------------------------------


def not_tried(found: Improvement) -> Iterator[str]:
    """What is left out, and why."""
    nothing = [words_of(one, found) for one in in_order(found.singles) if not found.saves_any(one)]
    if nothing:
        yield f"Tried, and saves neither mains water nor time: {'; '.join(nothing)}."
    if found.left_out:
        yield f"Nothing to try: {listed([left_out(kind) for kind in found.left_out])}."
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
        "At the plants' cost means half a per cent or more of that need met less (ours) with all their water given, by "
        "hose where a store has no mains: else not to water dry beds would look like a saving."
    )
    price = _price_of_water(found)
    if price is not None:
        yield f"A cubic metre of mains water costs {money(price, found.opened.site.prices.currency)}."
    yield "Time is what the site file says of a person's effort, for all the watering; without it the defaults."
    taken = {takes: one.measures[0].kind for one in found.singles if (takes := takes_of(one.measures[0]))}
    for takes, kind in taken.items():
        yield f"{capital(kind)}: {takes}."
    yield "Mulch cuts the soil's evaporation by 5 % for each 10 % of the soil covered (FAO-56 chapter 10, p. 197)."


def cautions(found: Improvement) -> Iterator[str]:
    """The cautions that the measures call for."""
    if found.now.needed_l >= LEAST_L:
        yield from (AIR_GAP, PLUMBER)
    if any(one.measures[0].kind == "next butt size" for one in found.singles):
        yield from (one.caution for one in of_topics("weight") if one.subject == "base")


# ---- For machines ----------------------------------------------------------------------------------------------------


def facts(found: Improvement) -> Facts:
    """All that was tried, as plain values."""
    dates, now = found.now.dates, found.now
    return {
        "site": found.opened.site.site.name,
        "period": period(dates[0], dates[-1]),
        "years": found.years,
        "now": {
            "needed_l": now.needed_l,
            "work_minutes_per_week": now.week_minutes,
            "minutes": now.minutes,
            "thirsty_days": now.thirsty_days,
            "need_met": now.need_met,
        },
        "measures": [measures_facts(one, found.opened.site) for one in in_order(found.singles)],
        "best_free": [measures_facts(one, found.opened.site) for one in found.free],
        "best": [measures_facts(one, found.opened.site) for one in found.any],
        "nothing_to_try": [left_out(kind) for kind in found.left_out],
        "gardens_run": found.runs,
        "unaided": unaided_facts(found.unaided),
    }
