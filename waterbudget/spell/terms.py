"""The site under the terms of a spell: without mains water, or under a ban on it."""

from waterbudget.site.model import Ban, Site
from waterbudget.spell.hot import Spell


def on_terms(site: Site, spell: Spell) -> Site:
    """The site as the spell has it."""
    changes: dict[str, object] = {}
    if spell.no_mains:
        cut = {"mains": "none", "float_below_l": None, "float_to_l": None}
        changes["tank"] = [tank.model_copy(update=cut) for tank in site.tank]
    if spell.ban is not None:
        first, last = spell.ban
        changes["ban"] = [*site.ban, Ban.model_validate({"from": first, "to": last})]
    return site.model_copy(update=changes) if changes else site
