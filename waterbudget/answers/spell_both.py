"""Water moved and draws rationed together in a hot spell, in words: the rule, the share, the plan and its price."""

from collections.abc import Iterator

from waterbudget.answers.english import listed, litres
from waterbudget.answers.spell_moving import MovingFacts, best_of, facts_of, rule_and_plan, rule_toml
from waterbudget.answers.spell_plans import against_now
from waterbudget.answers.spell_rationing import KEPT, fewer_names, given_up_l, rationed_toml
from waterbudget.spell.study import Study


class BothFacts(MovingFacts):
    """The transfer and the plan of least harm with it, the draws that get less and the share that they keep."""

    draws: list[str]
    draw_share: float
    given_up_l: float


def both_choice(found: Study) -> Iterator[str]:
    """The rule, the share, the plan and its price; nothing where both help little more than either."""
    if found.both is None:
        return
    share, study = found.both.share, found.both.study
    names, price = listed(fewer_names(found)), against_now(found, best_of(study), study.found.trial)
    less = f"That is {litres(given_up_l(found, share))} L less for {names}."
    yield f"Least harm of all, moving water, with {KEPT[share]} for {names}: {rule_and_plan(study)}. {price} {less}"


def both_toml(found: Study) -> Iterator[str]:
    """The lines of the transfer, the draws and the plan."""
    if found.both is None:
        return
    study = found.both.study
    yield "# least harm of all, moving water, with less for other draws"
    yield from rule_toml(study)
    yield from rationed_toml(study)


def both_facts(found: Study) -> BothFacts | None:
    """The same as plain values; None where both help little more than either."""
    if found.both is None:
        return None
    share = found.both.share
    return {
        **facts_of(found.both.study, [*both_toml(found)]),
        "draws": fewer_names(found),
        "draw_share": share,
        "given_up_l": given_up_l(found, share),
    }
