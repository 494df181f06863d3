"""The stores, beds and plans of a hot spell as plain values."""

from typing_extensions import TypedDict

from waterbudget.answers.spell_plans import called, in_plain_words, toml_lines
from waterbudget.spell.study import Named, Study
from waterbudget.spell.trial import day_of


class StoreStart(TypedDict):
    """A store on the first morning."""

    name: str
    start_l: float


class WithMains(TypedDict):
    """The present plan with all the mains water that it takes."""

    needed_l: float
    yield_at_risk: float


class StoreShort(TypedDict):
    """The day on which a store first runs short, null for never."""

    name: str
    first_short: str | None


class BedAtRisk(TypedDict):
    """A bed under a plan."""

    name: str
    first_stress: str | None
    stress_days: int
    eta_over_etc: float
    yield_at_risk: float


class SpellPlan(TypedDict):
    """What becomes of a plan; toml: its lines for the site file."""

    called: str
    is_present: bool
    in_words: str
    toml: list[str]
    lasts: bool
    days_lasted: int
    asked_l: float
    given_l: float
    rain_l: float
    given_mains_l: float
    unmet_l: float
    needed_l: float
    end_l: float
    work_minutes_per_week: float
    yield_at_risk: float
    yield_at_risk_by_stage: float | None
    tanks: list[StoreShort]
    beds: list[BedAtRisk]


class SpellPlans(TypedDict):
    """The present plan and the best ones."""

    present: SpellPlan
    work: SpellPlan
    water: SpellPlan
    harm: SpellPlan


def plan_facts(found: Study, one: Named) -> SpellPlan:
    """A named plan, and what becomes of stores and beds under it."""
    trial, number = found.found.trial, one.number
    return {
        "called": called(found, one.name),
        "is_present": number == 0,
        "in_words": in_plain_words(found, one.plan),
        "toml": toml_lines(found, one.plan),
        "lasts": bool(trial.lasts[number]),
        "days_lasted": int(trial.days_lasted[number]),
        "asked_l": float(trial.asked_l[number]),
        "given_l": float(trial.given_l[number]),
        "rain_l": float(trial.rain_l[number]),
        "given_mains_l": float(trial.from_mains_l[number]),
        "unmet_l": float(trial.unmet_l[number]),
        "needed_l": float(trial.needed_l[number]),
        "end_l": float(trial.left_l[number]),
        "work_minutes_per_week": float(trial.week_minutes[number]),
        "yield_at_risk": float(trial.harm[number]),
        "yield_at_risk_by_stage": _by_stage(found, one),
        "tanks": [
            {"name": name, "first_short": day_of(found.eve, first)}
            for name, first in zip(found.eve.garden.names.tanks, trial.tank_short[number], strict=True)
        ],
        "beds": [
            {
                "name": bed.name,
                "first_stress": day_of(found.eve, trial.first_stress[number, column]),
                "stress_days": int(trial.stress_days[number, column]),
                "eta_over_etc": float(1.0 - trial.lack[number, column]),
                "yield_at_risk": float(trial.at_risk[number, column]),
            }
            for column, bed in enumerate(found.site.bed)
            if found.sensitivity.responses[column]
        ],
    }


def _by_stage(found: Study, one: Named) -> float | None:
    """Yield at risk of a plan with Ky by growth stage."""
    if found.by_stage is None:
        return None
    return float(found.by_stage[next(n for n, named in enumerate(found.named) if named is one)])
