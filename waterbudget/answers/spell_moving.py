"""Water moved from store to store in a hot spell, in words: the rule, the plans that go with it, what it takes."""

import json
from collections.abc import Iterator

from typing_extensions import TypedDict

from waterbudget.answers.english import litres
from waterbudget.answers.spell_plans import Group, against_now, groups, in_plain_words, toml_lines
from waterbudget.site.model import Transfer
from waterbudget.spell.study import Study


class MovingFacts(TypedDict):
    """The transfer that helps most and the plan of least harm with it; toml: lines for the site file."""

    name: str
    from_tank: str
    to_tank: str
    below_l: float
    keep_l: float
    moved_l: float
    in_words: str
    toml: list[str]
    work_minutes_per_week: float
    yield_at_risk: float


def rule_of(found: Study) -> Transfer:
    """The transfer that was added."""
    return found.site.transfer[-1]


def best_of(moving: Study) -> Group:
    """The plan of least harm with water moved."""
    return next(group for group in groups(moving) if "least harm" in group.names)._replace(names=("least harm",))


def moving_choice(found: Study) -> Iterator[str]:
    """The rule, its plan and what they save and take against the present plan; nothing where moving helps little."""
    if found.moving is None:
        return
    group = best_of(found.moving)
    price = against_now(found, group, found.moving.found.trial)
    yield f"Least harm, moving water: {rule_and_plan(found.moving)}. {price}"


def rule_and_plan(moving: Study) -> str:
    """The transfer, and the plan of least harm with it."""
    return f"{in_words(rule_of(moving))}; {in_plain_words(moving, best_of(moving).named.plan)}"


def in_words(rule: Transfer) -> str:
    """A transfer as people say it."""
    leaves = f", but leave {litres(rule.keep_l)} L there" if rule.keep_l else ""
    return f"when {rule.to_tank} holds less than {litres(rule.below_l or 0.0)} L, fill it from {rule.from_tank}{leaves}"


def moving_toml(found: Study) -> Iterator[str]:
    """The lines of the transfer and its plan."""
    if found.moving is None:
        return
    yield "# least harm, moving water"
    yield from rule_toml(found.moving)
    yield from toml_lines(found.moving, best_of(found.moving).named.plan)


def rule_toml(moving: Study) -> Iterator[str]:
    """The lines of the transfer alone."""
    yield "[[transfer]]"
    for key in ("name", "from_tank", "to_tank", "l_per_day", "keep_l", "below_l"):
        yield f"{key} = {json.dumps(getattr(rule_of(moving), key), ensure_ascii=False)}"


def moving_facts(found: Study) -> MovingFacts | None:
    """The transfer that helps most as plain values, None where moving helps little."""
    return None if found.moving is None else facts_of(found.moving, [*moving_toml(found)])


def facts_of(moving: Study, toml: list[str]) -> MovingFacts:
    """The transfer of a study and its plan of least harm. toml: the lines of both."""
    rule, one, trial = rule_of(moving), best_of(moving).named, moving.found.trial
    return {
        "name": rule.name,
        "from_tank": rule.from_tank,
        "to_tank": rule.to_tank,
        "below_l": rule.below_l or 0.0,
        "keep_l": rule.keep_l,
        "moved_l": float(one.course.moved_l[:, -1].sum()),
        "in_words": rule_and_plan(moving),
        "toml": toml,
        "work_minutes_per_week": float(trial.week_minutes[one.number]),
        "yield_at_risk": float(trial.harm[one.number]),
    }
