"""Draws that get less in a hot spell, in words: their share, the plan that goes with it, what is given up."""

import json
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import listed, litres
from waterbudget.answers.spell_moving import best_of
from waterbudget.answers.spell_plans import against_now, in_plain_words, toml_lines
from waterbudget.spell.rationing import fewer_litres
from waterbudget.spell.study import Study

KEPT = {
    0.0: "no water",
    1 / 4: "a quarter of the water",
    1 / 2: "half of the water",
    3 / 4: "three quarters of the water",
}


class RationingFacts(TypedDict):
    """The draws that may get less, the share that they keep, and the plan of least harm then; toml: for the site."""

    draws: list[str]
    draw_share: float
    given_up_l: float
    in_words: str
    toml: list[str]
    work_minutes_per_week: float
    yield_at_risk: float


def rationing_choice(found: Study) -> Iterator[str]:
    """The share of the draws, their plan, what it saves and what they give up; nothing where that helps little."""
    rationing = found.rationing
    if rationing is None:
        return
    group = best_of(rationing.study)
    plan = in_plain_words(rationing.study, group.named.plan)
    price = against_now(found, group, rationing.study.found.trial)
    names = listed(fewer_names(found))
    less = f"That is {litres(given_up_l(found, rationing.share))} L less for {names}."
    yield f"Least harm, with {KEPT[rationing.share]} for {names}: {plan}. {price} {less}"


def given_up_l(found: Study, share: float) -> float:
    """What the draws that may get less ask for in the spell under the present plan, less the share they keep [L]."""
    asked_l = found.named[0].course.asked_l[:, len(found.site.zone) :].sum(axis=0)
    all_l = sum(float(asked_l[n]) for n, draw in enumerate(found.site.draw) if draw.may_ration)
    return (1.0 - share) * all_l


def rationing_toml(found: Study) -> Iterator[str]:
    """The lines of the draws and of the plan."""
    if found.rationing is None:
        return
    yield "# least harm, with less for other draws"
    yield from rationed_toml(found.rationing.study)


def rationed_toml(study: Study) -> Iterator[str]:
    """The lines of the draws that get less in a study, and of its plan of least harm."""
    for draw in fewer_litres(study.site):
        yield "[[draw]]"
        yield f"name = {json.dumps(draw.name, ensure_ascii=False)}"
        yield f"l_per_day = {draw.l_per_day:g}"
    yield from toml_lines(study, best_of(study).named.plan)


def fewer_names(found: Study) -> list[str]:
    """What the draws that may get less are called."""
    return [draw.name for draw in fewer_litres(found.site)]


def rationing_facts(found: Study) -> RationingFacts | None:
    """The same as plain values; None where that helps little, or no draw may get less."""
    if found.rationing is None:
        return None
    study = found.rationing.study
    one, trial = best_of(study).named, study.found.trial
    return {
        "draws": fewer_names(study),
        "draw_share": found.rationing.share,
        "given_up_l": given_up_l(found, found.rationing.share),
        "in_words": in_plain_words(study, one.plan),
        "toml": [*rationing_toml(found)],
        "work_minutes_per_week": float(trial.week_minutes[one.number]),
        "yield_at_risk": float(trial.harm[one.number]),
    }
