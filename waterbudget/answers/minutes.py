"""How many minutes, how often and in how many pulses each zone is to run, in words."""

import calendar
from collections.abc import Iterator
from typing import NamedTuple

from typing_extensions import TypedDict

from waterbudget.answers.care import NO_MIST, NOT_TO_DRINK
from waterbudget.answers.english import capital, count, listed, litres, percent, span
from waterbudget.answers.facts import Common, period
from waterbudget.answers.minutes_paste import is_to_paste, monthly, paste, toml_of
from waterbudget.answers.pulse import apart, in_runs, minutes_told
from waterbudget.blocks import Answer, Bullets, Column, Picture, Table
from waterbudget.errors import Said
from waterbudget.plan.minutes import Minutes, Month, ZoneMinutes
from waterbudget.plan.settings import LACKED_WEIGHT, Balance, Setting
from waterbudget.units import WEEK_DAYS

NOTICED_L = 0.5  # a year, below which two are alike
FEW_YEARS = 5  # of weather, below which the minutes may fit these summers alone: ours
MUCH, LITTLE = 0.10, 0.05  # share of the water that sinks, and of the use that is lacked, worth a word: ours


class SettingFacts(TypedDict):
    """What a clock is set to; every_days is null where somebody feels the soil, hot_minutes where no day is hot."""

    minutes: float
    runs_per_day: int
    every_days: int | None
    hot_minutes: float | None


class BalanceFacts(TypedDict):
    """Litres of a usual year: what the beds use, lack and let sink, and what the zone takes, on so many days."""

    etc_l: float
    lacked_l: float
    sunk_l: float
    asked_l: float
    watering_days: float


class MonthFacts(TypedDict):
    """A month of a zone, with its litres as advised and with the present plan; days: on which it may run."""

    month: int
    days: int
    setting: SettingFacts
    advised: BalanceFacts
    present: BalanceFacts


class ZoneFacts(TypedDict):
    """What is advised for a zone. bed: that limits its runs, null where none does. toml: to paste, one setting for all.

    longest_minutes: of a run that its soil takes at once, null without a limit.
    """

    name: str
    beds: list[str]
    flow_l_min: float
    bed: str | None
    rate_mm_h: float | None
    intake_mm_h: float | None
    longest_minutes: float | None
    pause_hours: int
    skip_rain_mm: float | None
    skip_rain_days: int | None
    months: list[MonthFacts]
    advised: BalanceFacts
    present: BalanceFacts
    once: SettingFacts
    once_balance: BalanceFacts
    hot_week: SettingFacts
    hot_week_l: float
    hot_month: int
    toml: list[str]


class Facts(Common):
    """Minutes for machines; years: the recorded summers behind them. needed_l: mains water of a year."""

    bed: str | None
    years: list[str]
    zones: list[ZoneFacts]
    needed_l: float
    present_needed_l: float


class Line(NamedTuple):
    """A line of the table and of the card: when, how long, how often; litres a week."""

    when: str
    long: str
    often: str
    week_l: float | None


def answer(found: Minutes) -> Answer:
    """What to set the clocks to."""
    whose = found.usual.site.site.name if found.bed is None else f"{found.bed}, {found.usual.site.site.name}"
    return Answer(
        "minutes",
        f"{whose}: minutes of water, month by month",
        tuple(verdict(found)),
        (
            settings(found),
            Picture("minutes", f"The same as a card for the wall. {' '.join(verdict(found))}", full=True),
            Bullets("help", "How to read it", tuple(reading(found))),
            Bullets("paste", "To paste: one setting for the season, for the same keys", paste(found), full=True),
            Bullets("paste", "To paste, month by month", tuple(monthly(found)), full=True),
            balances(found),
            Bullets("assume", "Assumed", tuple(assumptions(found))),
            Bullets("caution", "Take care", (NO_MIST,), full=False),
            Bullets("caution", "Also", (NOT_TO_DRINK,)),
        ),
        facts(found),
        found.opened.notes,
    )


def facts(found: Minutes) -> Facts:
    """The same as plain values."""
    weather = found.opened.weather
    return {
        "site": found.usual.site.site.name,
        "period": period(weather.first_day, weather.last_day),
        "bed": found.bed,
        "years": list(found.usual.labels),
        "zones": [_zone(found, one) for one in found.zones],
        "needed_l": found.advised_needed_l,
        "present_needed_l": found.present_needed_l,
    }


def _zone(found: Minutes, one: ZoneMinutes) -> ZoneFacts:
    pulse, is_limited = one.pulse, one.pulse.bed is not None
    return {
        "name": one.zone.name,
        "beds": list(one.beds),
        "flow_l_min": one.flow_l_min,
        "bed": pulse.bed,
        "rate_mm_h": pulse.rate_mm_h if is_limited else None,
        "intake_mm_h": pulse.intake.intake_mm_h if pulse.intake else None,
        "longest_minutes": pulse.longest_minutes if is_limited else None,
        "pause_hours": pulse.pause_h,
        "skip_rain_mm": one.skip_rain_mm,
        "skip_rain_days": one.skip_rain_days,
        "months": [
            {
                "month": month.month,
                "days": month.days,
                "setting": _setting(month.setting),
                "advised": _balance(month.advised),
                "present": _balance(month.present),
            }
            for month in one.months
        ],
        "advised": _balance(one.advised),
        "present": _balance(one.present),
        "once": _setting(one.once),
        "once_balance": _balance(one.once_balance),
        "hot_week": _setting(one.hot_week),
        "hot_week_l": one.hot_week_l,
        "hot_month": one.hot_month,
        "toml": list(toml_of(one, one.once)) if is_to_paste(found, one) else [],
    }


def _setting(one: Setting) -> SettingFacts:
    return {
        "minutes": one.minutes,
        "runs_per_day": one.runs,
        "every_days": one.every_days,
        "hot_minutes": one.hot_minutes,
    }


def _balance(one: Balance) -> BalanceFacts:
    return {
        "etc_l": one.etc_l,
        "lacked_l": one.lacked_l,
        "sunk_l": one.sunk_l,
        "asked_l": one.asked_l,
        "watering_days": one.days,
    }


# ---- The verdict -----------------------------------------------------------------------------------------------------


def verdict(found: Minutes) -> Iterator[str]:
    """Of each zone whether its plan gives too much or too little, and what the advice does to the mains water."""
    for one in found.zones:
        yield f"{one.zone.name}: {_judged(one)}"
    saved_l = found.present_needed_l - found.advised_needed_l
    if abs(saved_l) > NOTICED_L and any(one.is_better for one in found.zones):
        less = "less" if saved_l > 0.0 else "more"
        yield f"By the table the garden takes {litres(abs(saved_l))} L {less} mains water in a usual year."


def _judged(one: ZoneMinutes) -> str:
    now, then, used_l = one.present, one.advised, litres(one.present.etc_l)
    if not one.is_better:
        return "your plan is as good as any that was found; keep it."
    if now.sunk_l > MUCH * now.asked_l and now.lacked_l > LITTLE * now.etc_l:
        return (
            f"your plan gives now too much, now too little: {litres(now.sunk_l)} of {litres(now.asked_l)} L a year "
            f"sink past the roots, and yet the beds lack {litres(now.lacked_l)} of {used_l} L. By the table "
            f"{litres(then.sunk_l)} of {litres(then.asked_l)} L sink, and {litres(then.lacked_l)} L are lacked."
        )
    if now.sunk_l > LACKED_WEIGHT * now.lacked_l:
        return (
            f"your plan gives too much: {litres(now.sunk_l)} of {litres(now.asked_l)} L a year sink past the roots. By "
            f"the table {litres(then.sunk_l)} of {litres(then.asked_l)} L do."
        )
    return (
        f"your plan gives too little: a year the beds lack {litres(now.lacked_l)} L of the {used_l} L that they use. "
        f"By the table they lack {litres(then.lacked_l)} L, for {litres(then.asked_l)} L in place of "
        f"{litres(now.asked_l)} L."
    )


# ---- The settings ----------------------------------------------------------------------------------------------------


def settings(found: Minutes) -> Table:
    """A row for each month of each zone: how long and how often."""
    columns = (
        Column("when", "Set the clock to"),
        Column("long", "water for", is_text=True),
        Column("often", "how often", is_text=True),
        Column("week_l", "L a week", write=litres, spare=True),
    )
    rows: list[tuple[str | float | None, ...]] = []
    for one in found.zones:
        rows += [(_round(found, one),), *(tuple(line) for line in lines_of(one))]
    return Table("How many minutes, and how often", columns, tuple(rows))


def _round(found: Minutes, one: ZoneMinutes) -> str:
    """A zone's name, and over how many beds its minutes go where somebody walks round with the hose."""
    is_round = len(one.beds) > 1 and one.zone.name in found.usual.site.effort.by_hose
    return f"{one.zone.name}, a round over its {len(one.beds)} beds" if is_round else one.zone.name


def lines_of(one: ZoneMinutes) -> list[Line]:
    """The lines of a zone: its months, and the hottest week of a usual year."""
    lines = [
        Line(
            calendar.month_name[month.month],
            _long(one, month.setting),
            _often(one, month),
            month.advised.asked_l / month.days * WEEK_DAYS,
        )
        for month in one.months
    ]
    hot = one.hot_week
    every = hot.every_days or 1
    feels = f"{_dry(one)}, about " if one.zone.plan != "timer" and hot.minutes else ""
    return [
        *lines,
        Line("in a hot week", _long(one, hot), feels + every_told(every) if hot.minutes else "", one.hot_week_l),
    ]


def _long(one: ZoneMinutes, setting: Setting) -> str:
    if not setting.minutes:
        return "no water"
    most = "at most " if one.zone.plan == "refill" else ""
    told = most + in_runs(setting.minutes, setting.runs)
    is_hotter = setting.hot_minutes is not None and setting.hot_minutes != setting.minutes
    return f"{told}, {setting.hot_minutes:g} if hot" if is_hotter else told


def _often(one: ZoneMinutes, month: Month) -> str:
    if not month.setting.minutes:
        return ""
    if month.setting.every_days is not None:
        return every_told(month.setting.every_days)
    if month.advised.days < 1.0:
        return "if dry, hardly ever"
    return f"{_dry(one)}, about {every_told(max(1, round(month.days / month.advised.days)))}"


def _dry(one: ZoneMinutes) -> str:
    return "if dry" if one.zone.plan == "dry" else "as needed"


def every_told(days: int) -> str:
    """A rhythm: every day, every other day, every third day."""
    names = {1: "every day", 2: "every other day", 3: "every third day"}
    return names.get(days, f"every {days} days")


def reading(found: Minutes) -> Iterator[str]:
    """What goes with the table."""
    yield from few_years(found)
    for one in found.zones:
        hot_c = one.zone.hot_above_c
        if one.skip_rain_mm is not None and one.skip_rain_days is not None:
            days = count(one.skip_rain_days, "day")
            heat = "" if hot_c is None else f" Hot: from {hot_c:g} °C."
            yield f"{one.zone.name}: skip a run after {one.skip_rain_mm:g} mm of rain in {days}.{heat}"
        if is_pulsed(one):
            longest = minutes_told(float(int(one.pulse.longest_minutes)))
            yield f"{one.zone.name}: start runs {apart(one.pulse.pause_h)}; beyond {longest} water runs off."


def is_pulsed(one: ZoneMinutes) -> bool:
    """Whether a zone's water comes in several runs at some time."""
    return any(line.runs > 1 for line in (*(month.setting for month in one.months), one.hot_week))


def few_years(found: Minutes) -> Iterator[str]:
    """That rain of few summers is no promise; nothing where many stand behind the minutes."""
    if found.usual.years < FEW_YEARS:
        behind = found.usual.labels[0] if found.usual.years == 1 else f"{found.usual.years} summers"
        yield f"These minutes count on rain as in {behind}: while it stays dry, water as in a hot week."


def _limit(one: ZoneMinutes) -> str:
    pulse = one.pulse
    soil = f"its {pulse.intake.soil.lower()} takes about {pulse.intake.intake_mm_h:g}" if pulse.intake else ""
    longest = minutes_told(float(int(pulse.longest_minutes)))
    return f"{pulse.bed} gets {pulse.rate_mm_h:.0f} mm an hour and {soil}: after {longest} water runs off."


# ---- Lines to paste --------------------------------------------------------------------------------------------------


def balances(found: Minutes) -> Table:
    """A row for each month of each zone: what is lacked and what sinks, as it is and as advised."""
    heads = ("present_lacked_l", "now lacks"), ("present_sunk_l", "now sinks"), ("present_asked_l", "now takes")
    then = ("lacked_l", "lacks"), ("sunk_l", "sinks"), ("asked_l", "takes")
    columns = (
        Column("when", "In a usual year"),
        Column("etc_l", "beds use", "L", litres),
        *(Column(name, head, "L", litres) for name, head in (*heads, *then)),
    )
    rows: list[tuple[str | float | None, ...]] = []
    for one in found.zones:
        rows.append((one.zone.name,))
        told = [(calendar.month_name[month.month], month.present, month.advised) for month in one.months]
        for when, now, advised in [
            *told,
            ("season", one.present, one.advised),
            ("season, set once", one.present, one.once_balance),
        ]:
            rows.append((when, now.etc_l, *_three(now), *_three(advised)))
    return Table("Too little and too much", columns, tuple(rows), full=True)


def _three(one: Balance) -> tuple[float, float, float]:
    return one.lacked_l, one.sunk_l, one.asked_l


def assumptions(found: Minutes) -> Iterator[str]:
    """What the minutes rest on."""
    usual, weather = found.usual, found.opened.weather
    days = usual.season.dates[:, 0]
    if usual.years == 1:
        yield (
            f"Usual weather: one summer alone, {span(str(days[0]), str(days[-1]))}, of {weather.source}. Another will "
            "be drier or wetter: weather of ten years tells more."
        )
    else:
        labels = f"{usual.labels[0]} to {usual.labels[-1]}"
        yield f"Usual weather: {count(usual.years, 'year')}, {labels}, of {weather.source}."
    yield f"Reference evapotranspiration: {weather.et0.method}. Likely error: {weather.et0.likely_error}."
    given = "All the water that is asked for is given, at the flow of a full store"
    yield Said(f"{given}; whether the stores hold it, waterbudget run tells.", f"{given}.")
    yield (
        f"A litre lacked counts as much as {LACKED_WEIGHT:g} that sink, and of settings that are nearly as good that "
        "with the fewest runs is taken (ours)."
    )
    flows = listed([one.zone.name for one in found.zones])
    share = 0.2
    yield (
        f"Minutes are as sure as the flow of {flows}: if it is {percent(share)} more, take "
        f"{percent(share / (1.0 + share))} fewer minutes. Time a bucket under it."
    )
    for one in found.zones:
        if one.pulse.intake is not None:
            yield f"{capital(one.zone.name)}: {_limit(one)} ({one.pulse.intake.source}.)"
