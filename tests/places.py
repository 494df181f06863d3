"""All the places of a garden that a page has a form for."""

from waterbudget.site.naming import tables_of
from waterbudget.site.read import ONCE, TABLES


def all_places(garden):
    """The places of all tables that a garden has or, of single ones, may have."""
    for head in TABLES:
        if head in ONCE:
            yield (head,)
        elif head:
            yield from (place for place, _ in tables_of(garden, head))
