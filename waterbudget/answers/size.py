"""What size of store to buy, in words: what is enough, what it costs and saves, and what that rests on."""

import shlex
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.care import AIR_GAP, PLUMBER
from waterbudget.answers.doubt import DoubtFacts, doubt_facts, doubt_sentence
from waterbudget.answers.english import count, in_words, listed, litres, percent
from waterbudget.answers.facts import Common, period
from waterbudget.answers.for_sale import DealFacts, buying, deal_facts, more_of_offers, offers
from waterbudget.answers.run import RELEASE
from waterbudget.answers.size_tables import litres_or_roof, met_by_size, more_of_sizes, roofs, rules, sizes
from waterbudget.answers.size_verdict import (
    best,
    is_plainly_the_tank,
    just_below,
    lasts_to,
    limit,
    title,
    verdict,
    working,
    years_of,
)
from waterbudget.blocks import Answer, Bullets, Picture
from waterbudget.errors import Said
from waterbudget.review.size import SizeFinding
from waterbudget.simulate.books import SHORT_L
from waterbudget.sizing.offers import KG_PER_L
from waterbudget.sizing.sizes import Outcomes
from waterbudget.sizing.stretch import NOT_COUNTED
from waterbudget.sizing.study import Sizing

FILLING_COUNTS = 0.05  # of all that is asked for, from which the first day's water is worth a line


class SizeFacts(TypedDict):
    """A size: means of a counted year, and how long it lasts in a middling and in a dry one; null for all of it."""

    capacity_l: float
    volume_reliability: float
    day_reliability: float
    days_lasted_median: int
    days_lasted_dry: int
    lasts_to_median: str | None
    lasts_to_dry: str | None
    needed_l_per_year: float
    spilled_l_per_year: float
    turnovers_per_year: float
    work_minutes_per_week: float


class RuleFacts(TypedDict):
    """A rule of thumb and the size that it gives, null where it gives none."""

    rule: str
    source: str
    page: str
    size: SizeFacts | None


class RoofFacts(TypedDict):
    """A size under a roof."""

    roof_m2: float
    capacity_l: float
    volume_reliability: float


class Facts(Common):
    """A size for machines; whole_years: whether a year of the means is a whole one."""

    tank: str
    method: str
    counted_years: list[str]
    whole_years: bool
    first_day: str
    target: float
    worth_l: float
    enough_l: float | None
    knee_l: float | None
    limit: str
    asked_l_per_year: float
    inflow_l_per_year: float
    now: SizeFacts
    sizes: list[SizeFacts]
    rules: list[RuleFacts]
    never_short: SizeFacts | None
    water_per_m3: float | None
    currency: str | None
    against_l: float
    for_sale: list[DealFacts]
    roofs: list[RoofFacts]
    doubled: list[RoofFacts]
    doubt: DoubtFacts


def answer(found: SizeFinding) -> Answer:
    """A size in words: with something for sale what to buy comes first, else the sizes do."""
    study, market = found.study, found.market
    shown = f"What each size meets and the mains water it leaves. {' '.join(verdict(found))}"
    bought = tuple(buying(market))
    verdicts = tuple(verdict(found))
    return Answer(
        "size",
        title(found),
        (*bought[:1], *verdicts),
        (
            Bullets("help", "Other ways" if bought else "What helps", (*bought[1:], *litres_or_roof(study))),
            *([offers(market)] if bought else []),
            sizes(study, full=bool(bought)),
            Picture("sizes", shown, met_by_size(study), full=bool(bought)),
            shopping(found),
            *([more_of_offers(market)] if bought else []),
            more_of_sizes(study),
            roofs(study),
            rules(study),
            Bullets("tell", "Also found", tuple(beside(study))),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "Take care", tuple(at_hand(study)), full=False),
            Bullets("caution", "Also", tuple(more_cautions(study))),
        ),
        facts(found),
        found.opened.notes,
    )


def beside(study: Sizing) -> Iterator[str]:
    """What else was found."""
    yield from just_below(study)
    if is_plainly_the_tank(study):
        yield limit(study)
    yield from working(study)


def shopping(found: SizeFinding) -> Bullets:
    """How to hear what to buy, where nothing for sale was named."""
    title_ = "For what to buy, list what is for sale in a file of name,capacity_l,price:"
    tank = [] if found.question.tank is None else ["--tank", found.question.tank]
    command = shlex.join(["waterbudget", "size", str(found.opened.path), *tank, "--options", "prices.csv"])
    return Bullets("paste", title_, () if found.study.deals else (command,))


# ---- Facts -----------------------------------------------------------------------------------------------------------


def facts(found: SizeFinding) -> Facts:
    """A size as plain values."""
    study, market = found.study, found.market
    weather, capacity_l = found.opened.weather, study.sizes.capacity_l
    return {
        "site": study.site.site.name,
        "period": period(weather.first_day, weather.last_day),
        "tank": study.tank.name,
        "method": found.question.method,
        "counted_years": list(study.stretch.names),
        "whole_years": study.stretch.whole,
        "first_day": str(study.stretch.begins),
        "target": study.sweep.target,
        "worth_l": study.sweep.worth_l,
        "enough_l": None if study.enough is None else float(capacity_l[study.enough]),
        "knee_l": None if study.knee is None else float(capacity_l[study.knee]),
        "limit": study.limit,
        "asked_l_per_year": float(study.sizes.a_year("asked_l")[-1]),
        "inflow_l_per_year": float(study.sizes.a_year("inflow_l")[-1]),
        "now": size_facts(study, study.now)[0],
        "sizes": size_facts(study, study.sizes),
        "rules": [
            {
                "rule": one.rule.rule,
                "source": one.rule.source,
                "page": one.rule.page,
                "size": None if one.outcome is None else size_facts(study, one.outcome)[0],
            }
            for one in study.rules
        ],
        "never_short": None if study.no_shortage is None else size_facts(study, study.no_shortage)[0],
        "water_per_m3": market.water_per_m3,
        "currency": study.site.prices.currency,
        "against_l": study.tank.all_l if study.stands else 0.0,
        "for_sale": deal_facts(market),
        "roofs": _roof_facts(study),
        "doubled": _doubled_facts(study),
        "doubt": doubt_facts(found.doubt),
    }


def size_facts(study: Sizing, tried: Outcomes) -> list[SizeFacts]:
    """Some sizes as plain values."""
    needed_l, spilled_l = tried.a_year("needed_l"), tried.a_year("spilled_l")
    return [
        {
            "capacity_l": float(tried.capacity_l[number]),
            "volume_reliability": float(tried.met[number]),
            "day_reliability": float(tried.met_on_days[number]),
            "days_lasted_median": int(tried.median_lasted[number]),
            "days_lasted_dry": int(tried.dry_lasted[number]),
            "lasts_to_median": _iso(study, tried.median_lasted[number]),
            "lasts_to_dry": _iso(study, tried.dry_lasted[number]),
            "needed_l_per_year": float(needed_l[number]),
            "spilled_l_per_year": float(spilled_l[number]),
            "turnovers_per_year": float(tried.turnovers[number]),
            "work_minutes_per_week": float(tried.week_minutes[number]),
        }
        for number in range(len(tried.capacity_l))
    ]


def _iso(study: Sizing, days: float) -> str | None:
    """The last of so many days as MM-DD of any year, null where they go on to the end."""
    last = lasts_to(study, days)
    return None if last is None else f"{last:%m-%d}"


def _roof_facts(study: Sizing) -> list[RoofFacts]:
    if study.roofs is None:
        return []
    area_m2, capacity_l, met = study.roofs
    return [
        {"roof_m2": float(area), "capacity_l": float(size), "volume_reliability": float(met[row, column])}
        for row, area in enumerate(area_m2)
        for column, size in enumerate(capacity_l)
    ]


def _doubled_facts(study: Sizing) -> list[RoofFacts]:
    """The store as it is, twice the litres, and twice the roof."""
    if study.doubled is None:
        return []
    now_l, now_m2 = study.tank.all_l, study.roof_m2
    tried = ((now_m2, now_l), (now_m2, 2.0 * now_l), (2.0 * now_m2, now_l))
    return [
        {"roof_m2": roof_m2, "capacity_l": capacity_l, "volume_reliability": met}
        for (roof_m2, capacity_l), met in zip(tried, study.doubled, strict=True)
    ]


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(found: SizeFinding) -> Iterator[str]:
    """What the figures rest on."""
    study, weather = found.study, found.opened.weather
    tank, site = study.tank, study.site
    yield chosen(found)
    yield from days(found)
    if found.drawn is not None:
        yield f"{found.drawn.years_behind} recorded years stand behind the drawn ones, which add no knowledge."
        yield found.drawn.note
    yield f"Two choices, tried on the last year alone. {doubt_sentence(found.doubt)}"
    filled = tank.start_l / tank.capacity_l
    yield f"Every size begins the first day {percent(filled)} full, like the {litres(tank.all_l)} L of today."
    if study.first_filling >= FILLING_COUNTS:
        size = "the largest size" if study.enough is None else "the size that is enough"
        yield (
            f"That first filling is {percent(study.first_filling)} of all that is asked of {size}, "
            "and no rain had to bring it: weather of more years tells better."
        )
    smallest_l = study.sizes.capacity_l[0]
    if tank.dead_l > 0.0:
        below = ", and smaller sizes give nothing" if smallest_l < tank.all_dead_l else ""
        yield f"The lowest {tank.all_dead_l:g} L stay out of reach at every size{below}."
    float_to_l = tank.joined * (tank.float_to_l or 0.0)
    if smallest_l < float_to_l:
        yield (
            f"In sizes below {float_to_l:g} L the float valve's levels come down in proportion, "
            "so that they stay below the brim."
        )
    if tank.mains == "float":
        yield "Met is what the store gave without the mains water that its float valve let in."
    if any(zone.plan != "timer" for zone in site.zone):
        yield (
            "Where a plan looks at the soil, a store that runs short leaves it drier and is asked for more: "
            "what is asked for differs a little from size to size."
        )
    if study.deals:
        beside = ", and beside the tank with it" if study.stands else ""
        yield f"Several pieces are joined low down{beside}, so that they fill and empty together."
        yield "What is for sale is reckoned against what stands there now, at the prices of its file."
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    yield RELEASE[site.model.release]


def chosen(found: SizeFinding) -> str:
    """Which tank, and why."""
    study = found.study
    others = [tank.name for tank in study.site.tank if tank.name != study.tank.name]
    if not others:
        return f"{study.tank.name} is the only store."
    stay = f"{listed(others)} {'stays' if len(others) == 1 else 'stay'} as now; mains and drain are the whole garden's."
    if found.question.tank is not None:
        return f"{study.tank.name} was chosen; {stay}"
    most = "it runs short most" if study.demand.lacked_l_in_all else "most water is asked of it"
    why = f"{study.tank.name} was chosen as {most}"
    return Said(f"{why} (another: --tank); {stay}", f"{why}; {stay}")


def days(found: SizeFinding) -> Iterator[str]:
    """The days that were run, and those that count."""
    stretch = found.study.stretch
    first = in_words(str(stretch.begins))
    if stretch.whole and len(stretch.names) == 1:
        yield f"Counted: {years_of(found)}, one year from {first}; up to when a size lasts counts from that day."
    elif stretch.whole:
        yield (
            f"Counted: {years_of(found)}, each of them from {first} with what the year before left in the store; "
            f"up to when a size lasts counts from {first}. A middling year: half of them last no longer."
        )
    elif len(stretch.names) == 1:
        yield (
            f"Counted: the {stretch.year_days[0]} days of the weather, as no year is whole; up to when a size lasts is "
            "of these."
        )
    else:
        yield (
            f"Counted: the days of each calendar year that the weather has, {listed(stretch.names)}, as none is whole; "
            "up to when a size lasts is of these."
        )
    left_out = int((stretch.year == NOT_COUNTED).sum())
    if left_out:
        yield f"{count(left_out, 'day')} outside whole years were run but are not counted."
    if found.drawn is not None:
        in_string = len(stretch.year_days)
        yield f"The drawn years run in strings of {in_string}, each string from the first day's store."


def at_hand(study: Sizing) -> Iterator[str]:
    """The cautions that whoever sets a store up needs at once."""
    told_l = study.sizes.capacity_l[best(study.sizes) if study.enough is None else study.enough]
    weighs = f"{litres(told_l)} L weigh {litres(told_l * KG_PER_L)} kg"
    yield f"{weighs}: set it on a level base made for that, never a roof."
    yield "Cover the store, child-proof every opening, and leave nothing there to climb on."


def more_cautions(study: Sizing) -> Iterator[str]:
    """The caution for topping up, where mains water is needed."""
    if study.now.a_year("needed_l")[0] > SHORT_L:
        yield from (AIR_GAP, PLUMBER)
