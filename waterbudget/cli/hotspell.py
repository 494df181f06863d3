"""waterbudget hotspell."""

import datetime as dt
from functools import partial
from pathlib import Path

import click

from waterbudget.cli.deliver import deliver, picture
from waterbudget.cli.options import FILE, Date, TankLitres, full_option, json_option, overwrite_option, site_argument


@click.command()
@site_argument
@click.option("--days", type=int, default=21, show_default=True, metavar="N", help="Days of the spell.")
@click.option("--high-c", type=float, default=26.0, show_default=True, metavar="°C", help="Highest of each day.")
@click.option("--low-c", type=float, metavar="°C", help="Lowest of each day; default: 11 °C below the highest.")
@click.option("--rain-mm", type=float, default=0.0, show_default=True, metavar="MM", help="Rain on each of its days.")
@click.option("--from", "first", type=Date(), help="First day; default: 1 July (south: 1 January) of the last year.")
@click.option(
    "--start-l",
    "start_l",
    type=TankLitres(),
    multiple=True,
    metavar="TANK=LITRES",
    help="Litres in a tank on the first day of the spell; default: what the weather up to it leaves.",
)
@click.option("--no-mains", is_flag=True, help="As if there were no mains water: when to begin saving, and on what.")
@click.option("--ban", nargs=2, type=Date(), metavar="FROM TO", help="The same, on the days of a ban on mains water.")
@click.option(
    "--away", nargs=2, type=Date(), metavar="FROM TO", help="Nobody is there on these days: what then needs a hand?"
)
@click.option("--plot", type=FILE, metavar="FILE", help="Draw stores and soil under each plan: .png, .svg or .pdf.")
@click.option("--ics", type=FILE, metavar="FILE.ics", help="Write watering days and shortages as a calendar.")
@click.option(
    "--ics-plan",
    type=click.Choice(["present", "work", "water", "harm"]),
    default="present",
    show_default=True,
    help="Whose days the calendar holds: the present plan's, or that of least work, water or harm without mains.",
)
@overwrite_option
@full_option
@json_option
def hotspell(
    site: Path | None,
    days: int,
    high_c: float,
    low_c: float | None,
    rain_mm: float,
    first: dt.date | None,
    start_l: tuple[tuple[str, float], ...],
    plot: Path | None,
    ics: Path | None,
    ics_plan: str,
    ban: tuple[dt.date, dt.date] | None,
    away: tuple[dt.date, dt.date] | None,
    *,
    no_mains: bool,
    overwrite: bool,
    full: bool,
    as_json: bool,
) -> None:
    """Does the watering plan last through a dry hot spell, what goes thirsty first, and which plans do last?

    SITE is a site file. The spell is laid on its weather, which is run up to it; many other plans are tried in it.

    \b
    Example: waterbudget hotspell data_demo/site.toml
    Example: waterbudget hotspell data_demo/allotment/site.toml --from 2033-05-25 --days 14 --start-l Butt=200
    Example: waterbudget hotspell data_demo/site.toml --ban 2031-07-05 2031-07-21 --away 2031-07-08 2031-07-15
    """  # noqa: D301
    from waterbudget.answers.hotspell import answer
    from waterbudget.answers.spell_events import events
    from waterbudget.answers.spell_plans import PLANS
    from waterbudget.journal.book import journal_path, read_journal
    from waterbudget.journal.dip import refuse_before_last
    from waterbudget.output import refuse_outputs
    from waterbudget.render.calendar import calendar_bytes, refuse_calendar
    from waterbudget.render.figures.hotspell import hotspell as draw
    from waterbudget.review.spell_doubt import find_spell_doubt
    from waterbudget.simulate.opened import open_site
    from waterbudget.spell.hot import Spell
    from waterbudget.spell.study import study

    spell = Spell(days, high_c, low_c, rain_mm, first, no_mains=no_mains, ban=ban, away=away)
    refuse_outputs(None, plot, overwrite=overwrite)
    refuse_calendar(ics, overwrite=overwrite)
    opened = open_site(site, every_year=True)
    if away:
        refuse_before_last(read_journal(journal_path(opened.path)), "away", away[0])
    found = study(opened.site, opened.weather, spell, dict(start_l))
    contents = picture(plot, partial(draw, found))
    if ics is not None:
        contents[ics] = calendar_bytes(events(found, PLANS[ics_plan]))
    told = answer(found, opened.notes, find_spell_doubt(found))
    deliver(told, contents, overwrite=overwrite, as_json=as_json, full=full)
