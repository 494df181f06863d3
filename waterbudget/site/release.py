"""Whether a day's rain fills the stores after the day's draws or before them: the other rule of the two."""

from waterbudget.site.model import Site


def with_other_release(site: Site) -> Site:
    """The site with the other release rule."""
    other = "before_spill" if site.model.release == "after_spill" else "after_spill"
    return site.model_copy(update={"model": site.model.model_copy(update={"release": other})})
