"""Odds in words: in how many summers the stored rain runs short, how long it lasts, the mains water it takes."""

import datetime as dt
import math
import shlex
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.care import AIR_GAP, PLUMBER
from waterbudget.answers.english import capital, count, finely, in_words, listed, litres, weekly_work
from waterbudget.answers.facts import Common, Period, period
from waterbudget.answers.odds_doubt import OddsDoubtFacts, doubts, how_sure, odds_doubt_facts
from waterbudget.answers.odds_tables import chances, dry_spells, lasting, numbers, worst
from waterbudget.answers.rules import RulesFacts, blocks, rules_facts
from waterbudget.answers.run import RELEASE
from waterbudget.answers.summers import in_years, made, named, one, years_tried
from waterbudget.answers.unaided import SEEN, UnaidedFacts, least_words, unaided_facts
from waterbudget.blocks import Answer, Bullets, Picture
from waterbudget.odds.chances import Chance, not_above, on_grid
from waterbudget.odds.outcomes import WORST_SHOWN, Odds
from waterbudget.odds.study import OddsFinding
from waterbudget.review.odds_doubt import OddsDoubt
from waterbudget.simulate.books import SHORT_L
from waterbudget.site.model import MonthDay
from waterbudget.tables.cautions import cautions

FIRST_FILL = ("first fill", "start of season")  # topic and subject of the caution


class Start(TypedDict):
    """A store on the first day of every summer."""

    name: str
    start_l: float


class ChanceFacts(TypedDict):
    """In how many years something happens; share and its 95 % interval are null for fewer than five years."""

    years: int
    years_behind: int
    share: float | None
    least: float | None
    most: float | None


class Lasting(ChanceFacts):
    """The chance that the stored rain lasts so many days."""

    days: int


class Quantile(TypedDict):
    """The days that the stored rain lasts and the mains water that is enough."""

    days_lasted: int
    needed_l: float


class Year(TypedDict):
    """A year that needs mains water."""

    year: str
    days_lasted: int
    first_short: str | None
    first_mains: str | None
    needed_l: float


class YearsFacts(TypedDict):
    """What became of a garden in many years; in half of them, and in 1 of 5 at most, it is worse than told."""

    method: str
    note: str
    days: int
    years: int
    years_behind: int
    runs_short: ChanceFacts
    needs_mains: ChanceFacts
    lasts: list[Lasting]
    half: Quantile
    four_of_five: Quantile | None
    worst: Quantile
    volume_reliability: float | None
    work_minutes_per_week: float
    worst_years: list[Year]


class AloneYear(TypedDict):
    """A recorded summer on stored rain alone, under the present plan."""

    year: str
    present_yield_at_risk: float


class ThirstiestFacts(UnaidedFacts):
    """The recorded summer that needs most mains water, on stored rain alone; null where rules tell of all summers.

    present_yield_at_risk: the mean of all recorded summers, years each of them.
    """

    year: str
    present_yield_at_risk: float
    years: list[AloneYear]


class Facts(Common, YearsFacts):
    """The odds for machines; recorded stands beside drawn years for comparison. season: MM-DD."""

    season: Period
    warmer_c: float
    rain_factor: float
    seed: int | None
    tanks: list[Start]
    recorded: YearsFacts | None
    doubt: OddsDoubtFacts | None
    unaided: ThirstiestFacts | None
    rules: RulesFacts | None


def answer(found: OddsFinding, doubt: OddsDoubt | None = None) -> Answer:
    """Odds in words."""
    shown = f"The chance that the stored rain lasts, and the level of each store. {' '.join(verdict(found))}"
    return Answer(
        "odds",
        f"{found.site.site.name}, {in_words(found.first)} to {in_words(found.last)}: {years_tried(found)}",
        (*verdict(found), *how_sure(doubt)),
        (
            *following(found),
            *(blocks(found.rules) if found.rules is not None else ()),
            lasting(found),
            Picture("odds", shown, chances(found), full=found.rules is not None),
            numbers(found),
            worst(found),
            dry_spells(found),
            Bullets("assume", "Assumed", (*assumptions(found), *doubts(doubt))),
            Bullets("caution", "Take care", tuple(care(found))),
        ),
        facts(found, doubt),
        found.opened.notes,
    )


def alone(found: OddsFinding) -> Iterator[str]:
    """What the recorded summers leave at risk on stored rain alone, and what nobody could save in the worst."""
    risk, each = found.unaided, found.alone
    if risk is not None and each is not None and risk.yield_at_risk >= SEEN:
        year = named(found.recorded, int(found.recorded.worst_first()[0]))
        mean, worst = finely(float(each.mean())), finely(risk.yield_at_risk)
        which = f"mean {one(found)}" if found.drawn is None else f"mean recorded {one(found)}"
        lost = f"{mean} of the yield in a {which} and {worst}" if len(each) > 1 else f"{worst} of the yield"
        best = "" if risk.least < SEEN or math.isnan(risk.least) else least_words(risk)
        told = f"Stored rain alone would lose {lost} in {year}"
        yield f"{told}, when no plan could lose less than {best}." if best else f"{told}."


# ---- Facts -----------------------------------------------------------------------------------------------------------


def facts(found: OddsFinding, doubt: OddsDoubt | None = None) -> Facts:
    """Odds as plain values."""
    asked, wanted = found.asked, found.wanted
    return {
        "site": found.site.site.name,
        "period": period(found.first, found.last_recorded),
        "season": {"from": f"{found.first:%m-%d}", "to": f"{found.last:%m-%d}"},
        "warmer_c": wanted.warmer_c,
        "rain_factor": wanted.rain_factor,
        "seed": wanted.seed_drawn if found.drawn else None,
        "tanks": [{"name": name, "start_l": start_l} for name, start_l in asked.start_l.items()],
        **years_facts(asked),
        "recorded": years_facts(found.recorded) if found.drawn else None,
        "doubt": None if doubt is None else odds_doubt_facts(doubt),
        "unaided": _unaided_facts(found),
        "rules": rules_facts(found.rules),
    }


def _unaided_facts(found: OddsFinding) -> ThirstiestFacts | None:
    told, each, labels = unaided_facts(found.unaided), found.alone, found.recorded.years.label
    if told is None or each is None:
        return None
    return {
        **told,
        "year": str(labels[found.recorded.worst_first()[0]]),
        "present_yield_at_risk": float(each.mean()),
        "years": [
            {"year": str(year), "present_yield_at_risk": float(share)} for year, share in zip(labels, each, strict=True)
        ],
    }


def years_facts(odds: Odds) -> YearsFacts:
    """What became of a garden in many years, as plain values."""
    lasted, needed_l = odds.days_lasted, odds.needed_l
    return {
        "method": odds.years.method,
        "note": odds.years.note,
        "days": odds.days,
        "years": len(lasted),
        "years_behind": odds.years.years_behind,
        "runs_short": _chance(odds, odds.chance(odds.runs_short)),
        "needs_mains": _chance(odds, odds.chance(odds.needs_mains)),
        "lasts": [{"days": days, **_chance(odds, odds.chance_of_lasting(days))} for days in odds.steps()],
        "half": {"days_lasted": int(not_above(lasted, 1, 2)), "needed_l": float(not_above(needed_l, 1, 2))},
        "four_of_five": None
        if odds.is_few
        else {"days_lasted": -int(not_above(-lasted, 4, 5)), "needed_l": float(not_above(needed_l, 4, 5))},
        "worst": {"days_lasted": int(lasted.min()), "needed_l": float(needed_l.max())},
        "volume_reliability": odds.all_met_by_rain if odds.asked_l.any() else None,
        "work_minutes_per_week": float(odds.week_minutes.mean()),
        "worst_years": [
            {
                "year": str(odds.years.label[number]),
                "days_lasted": int(lasted[number]),
                "first_short": odds.day(odds.first_short[number], number),
                "first_mains": odds.day(odds.first_mains[number], number),
                "needed_l": float(needed_l[number]),
            }
            for number in odds.worst_first()[:WORST_SHOWN].tolist()
        ],
    }


def _chance(odds: Odds, chance: Chance) -> ChanceFacts:
    """A chance to the nearest year behind it."""
    of = odds.years.years_behind
    share = float(on_grid(chance.share, of))
    if odds.is_few:
        return {"years": round(share * of), "years_behind": of, "share": None, "least": None, "most": None}
    least, most = min(float(chance.low), share), max(float(chance.high), share)
    return {"years": round(share * of), "years_behind": of, "share": share, "least": least, "most": most}


# ---- The verdict -----------------------------------------------------------------------------------------------------


def verdict(found: OddsFinding) -> Iterator[str]:
    """How often the stores run short, how long they last, the mains water and the time it takes."""
    odds = found.asked
    if not odds.asked_l.any():
        yield f"Nothing asks the stores for water from {in_words(found.first)} to {in_words(found.last)}."
        return
    if not odds.runs_short.any():
        lasts = "lasted" if _is_past(found) else "lasts"
        until = in_words(found.last)
        yield f"The stored rain {lasts} to {until} in {in_years(found, ~odds.runs_short)}: no mains water is needed."
    else:
        ran = "ran" if _is_past(found) else "runs"
        yield f"The stored rain {ran} short in {in_years(found, odds.runs_short)}; {_lasts(found)}."
    mains = [_mains(found)] if odds.runs_short.any() else []
    yield " ".join([*mains, f"The watering takes {weekly_work(odds.week_minutes.mean())}.", *alone(found)])


def _is_past(found: OddsFinding) -> bool:
    """Whether the summers were as they are told."""
    return found.drawn is None and not found.is_changed


def _lasts(found: OddsFinding) -> str:
    """How long the stored rain lasts in half of all years, or in the worst."""
    odds, recorded = found.asked, found.recorded
    half, lasted = int(not_above(odds.days_lasted, 1, 2)), "lasted" if _is_past(found) else "lasts"
    if half < odds.days and not odds.is_few:
        return f"in half the {one(found)}s it {lasted} {_at_most(found, half)}"
    shortest = int(recorded.days_lasted.argmin())
    if not recorded.runs_short[shortest]:
        return f"none of the {one(found)}s of the record does"
    days = count(int(recorded.days_lasted[shortest]), "day")
    return f"in the shortest, {named(recorded, shortest)}, it {lasted} {days}"


def _at_most(found: OddsFinding, days: int) -> str:
    if days == 0:
        return "not even the first day"
    return f"no longer than {in_words(found.first + dt.timedelta(days=days - 1))} ({count(days, 'day')})"


def _mains(found: OddsFinding) -> str:
    """The mains water that is enough in half of all years, in four of five and in the worst recorded."""
    odds, recorded, ones = found.asked, found.recorded, f"{one(found)}s"
    enough, more, of_mains = "", [], " of mains water"
    if not odds.is_few:
        half_l, most_l = (float(not_above(odds.needed_l, *part)) for part in ((1, 2), (4, 5)))
        if most_l <= SHORT_L:
            enough = f"in 4 of 5 {ones} no mains water is needed"
        else:
            needs = "no mains water is needed" if half_l <= SHORT_L else f"{litres(half_l)} L of mains is enough"
            enough = f"in half the {ones} {needs}"
            more.append(f"{litres(most_l)} L does for 4 of 5")
        of_mains = ""
    if recorded.needs_mains.any():
        thirstiest = int(recorded.worst_first()[0])
        takes = "took" if _is_past(found) else "takes"
        worst_l = litres(recorded.needed_l[thirstiest])
        more.append(f"{worst_of_record(found, thirstiest)}, {takes} {worst_l} L{of_mains}")
    return f"{capital('; '.join(part for part in (enough, ', and '.join(more)) if part))}."


def worst_of_record(found: OddsFinding, year: int) -> str:
    """The worst year of the record by its number, as it was or as it would be with the weather changed."""
    name = named(found.recorded, year)
    if found.is_changed:
        return f"the worst, {name} {made(found)}"
    return f"the worst recorded, {name}" if found.drawn else f"the worst, {name}"


def following(found: OddsFinding) -> Iterator[Bullets]:
    """What to ask next, where the stored rain runs short, and where the best in one summer alone is told."""
    path = shlex.quote(str(found.opened.path))
    asks = (f"waterbudget improve {path}", f"waterbudget size {path}") if found.asked.runs_short.any() else ()
    yield Bullets("paste", "What to change first, and what size of store would do", asks)
    if next(alone(found), None):
        title = f"The best there can be in every {one(found)}, and how near simple rules come to it"
        yield Bullets("tell", title, (f"waterbudget odds {path} --rules",))


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(found: OddsFinding) -> Iterator[str]:
    """What the figures rest on."""
    odds, site, weather = found.asked, found.site, found.opened.weather
    starts = listed([f"{name} {litres(start_l)} L" for name, start_l in odds.start_l.items()])
    yield _behind(found)
    yield odds.years.note
    yield f"Every {one(found)} starts with the same water in the stores: {starts}."
    yield f"Weather: {weather.source}. Reference evapotranspiration ET0: {weather.et0.method}."
    yield from (f"{capital(words)}." for words in weather.et0.assumed)
    yield f"Likely error of ET0: {weather.et0.likely_error}."
    yield RELEASE[site.model.release]
    if once := [bed.name for bed in site.bed if any(not isinstance(one.planted, MonthDay) for one in bed.planting)]:
        yield f"Planted on a full date and so in one year only: {listed(once)}. For every year write planted as MM-DD."


def _behind(found: OddsFinding) -> str:
    """How many years stand behind the answer, and what that means."""
    odds, seed = found.asked, found.wanted.seed_drawn
    behind = odds.years.years_behind
    if odds.is_few:
        return f"{behind} recorded {one(found)}s stand behind this: enough to count, too few to tell chances."
    drawn = (
        f" Drawing {len(odds.days_lasted):,} from them adds no knowledge (seed {seed}; "
        "another shows what hangs on the draw)."
    )
    return (
        f"{behind} recorded years stand behind every chance, taken as alike and independent; what it could be is the "
        f"95 % interval of Wilson (1927) for {behind} years.{drawn if found.drawn else ''}"
    )


def care(found: OddsFinding) -> Iterator[str]:
    """The cautions that the answer calls for."""
    if found.asked.needs_mains.any():
        yield from (AIR_GAP, PLUMBER)
    topic, subject = FIRST_FILL
    yield from (caution.caution for caution in cautions(topic) if caution.subject == subject)
