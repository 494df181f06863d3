"""A hot spell in words: does the present plan last, what goes thirsty first, and which plans last, at what price."""

import datetime as dt
from collections.abc import Iterator, Sequence
from functools import partial

from waterbudget.answers.english import capital, count, listed, litres, percent, span
from waterbudget.answers.facts import Common, period
from waterbudget.answers.spell_best import ForesightFacts, foresight_facts, how_it_is_found, ten_litres, worth
from waterbudget.answers.spell_both import BothFacts, both_choice, both_facts, both_toml
from waterbudget.answers.spell_care import at_hand, more_cautions
from waterbudget.answers.spell_doubt import SpellDoubtFacts, doubts, how_sure, spell_doubt_facts
from waterbudget.answers.spell_facts import SpellPlans, StoreStart, WithMains, plan_facts
from waterbudget.answers.spell_moving import (
    MovingFacts,
    best_of,
    moving_choice,
    moving_facts,
    moving_toml,
)
from waterbudget.answers.spell_plans import (
    SHORT,
    Group,
    day,
    else_title,
    ends,
    groups,
    said_day,
    to_paste,
    told_first,
    told_later,
)
from waterbudget.answers.spell_rationing import RationingFacts, rationing_choice, rationing_facts, rationing_toml
from waterbudget.answers.spell_terms import AwayFacts, SavingFacts, away_facts, saving_facts, terms
from waterbudget.answers.spell_verdict import title, verdict
from waterbudget.blocks import Answer, Bullets, Cell, Column, Lane, Marks, Picture, Strip, Table
from waterbudget.review.spell_doubt import SpellDoubt
from waterbudget.simulate.books import SHORT_L
from waterbudget.spell.hot import SWING_C
from waterbudget.spell.plans import DRY_AT
from waterbudget.spell.search import ALLOWED
from waterbudget.spell.study import Study

YIELD = (
    "Yield at risk is Ky (1 - ETa/ETc) of each bed over these days (FAO-56 Eq. 90), as if all of its season went so: "
    "it tells plans and beds apart and is no forecast of the harvest. Its mean is over watered beds, by area."
)


class Facts(Common):
    """A hot spell for machines; temperatures and rain are those of each of its days, ET0 the sum of all."""

    days: int
    tmax_c: float
    tmin_c: float
    rain_mm: float
    et0_mm: float
    tanks: list[StoreStart]
    plans_tried: int
    plans_lasting: int
    with_mains: WithMains
    plans: SpellPlans
    foresight: ForesightFacts
    moving: MovingFacts | None
    rationing: RationingFacts | None
    moving_and_rationing: BothFacts | None
    saving: SavingFacts | None
    away: AwayFacts | None
    doubt: SpellDoubtFacts | None


def answer(found: Study, notes: Sequence[str] = (), doubt: SpellDoubt | None = None) -> Answer:
    """A hot spell in words; notes: what else the reader should know of site and weather."""
    return Answer(
        "hotspell",
        title(found),
        tuple(verdict(found)),
        (
            *terms(found),
            Bullets(
                "help",
                else_title(found),
                (
                    *told_first(found),
                    *moving_choice(found),
                    *rationing_choice(found),
                    *both_choice(found),
                    *ten_litres(found),
                    *how_sure(doubt),
                ),
            ),
            Bullets("help", "And a further plan", tuple(told_later(found)), full=True),
            plans(found),
            Bullets("help", "What would help most", tuple(worth(found)), full=True),
            picture(found),
            Bullets(
                "paste",
                "To paste, in place of the same keys of each zone",
                (*to_paste(found), *moving_toml(found), *rationing_toml(found), *both_toml(found)),
                full=True,
            ),
            beds(found),
            Bullets("assume", "Assumed", (*assumptions(found), *doubts(found, doubt))),
            Bullets("caution", "Take care", tuple(at_hand(found)), full=False),
            Bullets("caution", "Also", tuple(more_cautions(found))),
        ),
        facts(found, doubt),
        tuple(notes),
    )


def facts(found: Study, doubt: SpellDoubt | None = None) -> Facts:
    """A hot spell as plain values."""
    spell = found.spell
    present, work, water, harm = (plan_facts(found, one) for one in found.named)
    return {
        "site": found.site.site.name,
        "period": period(*ends(found)),
        "days": spell.days,
        "tmax_c": spell.high_c,
        "tmin_c": spell.night_c,
        "rain_mm": spell.rain_mm,
        "et0_mm": float(found.hot.et0_mm.sum()),
        "tanks": [
            {"name": name, "start_l": float(level_l)}
            for name, level_l in zip(_tanks(found), found.eve.level_l, strict=True)
        ],
        "plans_tried": len(found.found.plans),
        "plans_lasting": found.found.lasting,
        "with_mains": {
            "needed_l": float(found.with_mains.needed_l[0]),
            "yield_at_risk": float(found.with_mains.harm[0]),
        },
        "plans": {"present": present, "work": work, "water": water, "harm": harm},
        "foresight": foresight_facts(found),
        "moving": moving_facts(found),
        "rationing": rationing_facts(found),
        "moving_and_rationing": both_facts(found),
        "saving": saving_facts(found),
        "away": away_facts(found),
        "doubt": None if doubt is None else spell_doubt_facts(doubt),
    }


def _tanks(found: Study) -> tuple[str, ...]:
    return found.eve.garden.names.tanks


# ---- Tables and the picture ------------------------------------------------------------------------------------------


def _whole(number: float) -> str:
    return f"{number:,.0f}"


def plans(found: Study) -> Table:
    """The present plan beside the best ones."""
    columns = (
        Column("plan", "Plans", write=capital),
        Column("days_lasted", "last", "days", _whole),
        *(
            Column(name, head, "L", litres)
            for name, head in (
                ("asked_l", "asked"),
                ("rain_l", "rain"),
                ("given_mains_l", "mains"),
                ("unmet_l", "lacking"),
                ("end_l", "left"),
            )
        ),
        Column("work_minutes_per_week", "work", "min/week", _whole),
        Column("yield_at_risk", "at risk", "of yield", percent),
    )
    shown = groups(found)
    rows = [_plan_row(found, group) for group in shown]
    heading = ((capital(shown[0].among) or "Best found",),) if len(rows) > 1 else ()
    others = (
        ("Moving water", found.moving),
        ("Other draws rationed", found.rationing and found.rationing.study),
        ("Moving water, other draws rationed", found.both and found.both.study),
    )
    more = [row for told, study in others if study for row in ((told,), _plan_row(study, best_of(study)))]
    every = (rows[0], *heading, *rows[1:], *more)
    return Table("The present plan and the best ones", columns, every, full=True)


def _plan_row(found: Study, group: Group) -> tuple[Cell, ...]:
    trial, number = found.found.trial, group.named.number
    return (
        group.label,
        int(trial.days_lasted[number]),
        float(trial.asked_l[number]),
        float(trial.rain_l[number]),
        float(trial.from_mains_l[number]),
        float(trial.unmet_l[number]),
        float(trial.left_l[number]),
        float(trial.week_minutes[number]),
        float(trial.harm[number]),
    )


def beds(found: Study) -> Table:
    """Each bed under the present plan, and its yield at risk under all of them."""
    trial, shown = found.found.trial, groups(found)
    columns = (
        Column("bed", "Beds"),
        Column("ky", "Ky"),
        Column("first_stress", "thirsty", "from", partial(said_day, found), none="never"),
        Column("stress_days", "thirsty", "days", _whole),
        *(
            Column(f"yield_at_risk_{group.key}", "/".join(SHORT[name] for name in group.names), "at risk", percent)
            for group in shown
        ),
    )
    rows = tuple(
        (
            bed.name if bed.zone is not None else f"{bed.name} (rain only)",
            listed(list(dict.fromkeys(f"{response.ky:g}" for response in responses))),
            day(found, trial.first_stress[0, column]),
            int(trial.stress_days[0, column]),
            *(float(trial.at_risk[group.named.number, column]) for group in shown),
        )
        for column, (bed, responses) in enumerate(zip(found.site.bed, found.sensitivity.responses, strict=True))
        if responses
    )
    return Table("Each bed under the present plan, and its yield at risk under each plan", columns, rows, full=True)


def picture(found: Study) -> Picture:
    """The stores and the soil under each plan; on a screen of letters the stores under the present one."""
    course = found.named[0].course
    rows: list[Lane | Marks] = []
    for number, tank in enumerate(found.site.tank):
        short = course.tank_short_l[:, number] > SHORT_L
        rows.append(Lane(tank.name, course.level_l[1:, number] / tank.all_l))
        rows += [Marks(short)] if short.any() else []
    strip = Strip("Level under the present plan", "█ full, ! short", tuple(rows), found.eve.season.dates[:, 0])
    words = f"Stores and soil under each plan, from day to day. {' '.join(verdict(found))}"
    return Picture("hotspell", words, strip, full=True)


# ---- What it rests on ------------------------------------------------------------------------------------------------


def assumptions(found: Study) -> Iterator[str]:
    """What the figures rest on."""
    first, _ = ends(found)
    start, before = found.weather.first_day, first - dt.timedelta(days=1)
    levels = listed(
        [f"{name} {litres(level_l)} L" for name, level_l in zip(_tanks(found), found.eve.level_l, strict=True)]
    )
    led_up = (
        f"after the weather of {span(start, before)} ({found.weather.source})" if before >= start else "as it begins"
    )
    yield f"On the first morning, {led_up}, the stores hold: {levels}. The soil is as that weather leaves it."
    below = f", {SWING_C:g} °C below the days: common practice, no source" if found.spell.low_c is None else ""
    yield f"Nights at {found.spell.night_c:zg}\N{NO-BREAK SPACE}°C{below}."
    et0_mm = found.hot.et0_mm
    yield f"ET0 {et0_mm.min():.1f} to {et0_mm.max():.1f} mm a day: {found.hot.et0_note}."
    yield YIELD
    yield from _sources(found)
    yield "Work is what the site file says of the effort; its defaults are common practice, no source."
    yield _tried(found)
    yield from how_it_is_found(found)


def _sources(found: Study) -> Iterator[str]:
    """Where each factor of the yield comes from."""
    sources: dict[str, list[str]] = {}
    for responses in found.sensitivity.responses:
        for response in responses:
            told = f"{response.label} {response.ky:g}{' as a stand-in' if response.kind == 'stand-in' else ''}"
            if response.kind == "none":
                told = f"{response.ky:g} where none is known"
            sources.setdefault(response.source, []).append(told)
    words = [f"{listed(list(dict.fromkeys(told)))}: {source}" for source, told in sources.items()]
    if words:
        yield f"Ky of {'; '.join(words)}."


def _tried(found: Study) -> str:
    """Which plans were tried, and how the best are told from each other."""
    points = f"{100 * ALLOWED:.0f} points"
    return (
        f"{count(len(found.found.plans), 'plan')} tried, of which {found.found.lasting:,} last without mains water: "
        "minutes, every so many days, and a timer, a soil that is found dry "
        f"({DRY_AT:g} of RAW gone), or what it lacks, for each zone; with several zones the best are sought step by "
        f"step, so others may come close. Least work and least water may put {points} more of the yield at risk than "
        "least harm does; all three are sought among plans that take no mains water from a store that can do without."
    )
