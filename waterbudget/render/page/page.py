"""The report: one web page that asks for nothing from anywhere, for the screen, the phone and two sheets of paper."""

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from waterbudget.answers.english import span
from waterbudget.answers.page import (
    DAY_COLUMNS,
    bed_table,
    days,
    draw_task,
    few_of,
    first_told,
    met,
    sources,
    store_table,
    zone_task,
)
from waterbudget.answers.run import assumptions, help_with, verdict
from waterbudget.answers.run import cautions as cautions_of
from waterbudget.render.html import environment
from waterbudget.render.page.pictures import balance_tables, balances, bed_pictures, levels
from waterbudget.review.advice import advice
from waterbudget.simulate.result import Result
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from markupsafe import Markup

TEMPLATE = "page.html.j2"


@dataclass(frozen=True)
class Part:
    """A further question with its answer, laid out; cautions: for those of the whole page."""

    html: "Markup"
    cautions: Sequence[str]


def page(result: Result, notes: Sequence[str] = (), sections: Sequence[Part] = ()) -> str:
    """The report of a run as HTML: always the same text for the same run.

    notes: what else the reader should know of the site and its weather. sections: further questions, answered.
    Raises InputError where the result has no daily tables.
    """
    made = environment()
    made.filters["hash"] = _hash
    template = made.from_string((files("waterbudget.render.page") / TEMPLATE).read_text("utf-8"))
    site, summary = result.site, result.summary
    return template.render(
        name=site.site.name,
        span=span(summary["start"], summary["end"]),
        verdict=" ".join(verdict(result)),
        met=met(result),
        help=[help_with(one, result) for one in advice(result)],
        levels=levels(result),
        stores=store_table(result),
        tanks=[tank.name for tank in site.tank],
        day_columns=[REGISTER[name].heading for name in DAY_COLUMNS],
        days=list(days(result)),
        begin=first_told(result),
        tasks=[*(zone_task(zone, site) for zone in site.zone), *(draw_task(draw) for draw in site.draw)],
        balances=balances(result),
        balance_tables=balance_tables(result),
        beds=bed_pictures(result) if site.bed else None,
        few_beds=few_of(result),
        bed_table=bed_table(result),
        sections=sections,
        assumed=[*assumptions(result), *notes],
        sources=sources(result),
        cautions=dict.fromkeys([*cautions_of(result), *(line for one in sections for line in one.cautions)]),
        register=REGISTER,
    )


def _hash(script: str) -> str:
    """A script's mark for the page's own rule that no other may run."""
    return base64.b64encode(hashlib.sha256(str(script).encode()).digest()).decode()
