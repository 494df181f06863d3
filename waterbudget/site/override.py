"""A site with some of its keys changed, each named as "tank.Shed butt.capacity_l", under the checks of a site file."""

import tomllib
from pathlib import Path

from waterbudget.site.changed import free_of_faults
from waterbudget.site.keys import Column, put
from waterbudget.site.links import Raw
from waterbudget.site.model import Site
from waterbudget.site.read import load_site


def raw_site(path: Path) -> Raw:
    """The tables of a site file that is free of faults. Raises SiteError with every fault of any other."""
    load_site(path)
    return tomllib.loads(path.read_text("utf-8-sig"))


def checked_site(table: Raw, where: str) -> Site:
    """The checked site of changed tables. Raises SiteError with every fault: where, key, what is wrong."""
    return free_of_faults(Site, table, where)


def override(table: Raw, column: Column, written: str) -> None:
    """Write a value, as it is written in a site file or a cell of a sheet, into the tables of a site."""
    if column.place is None:
        raise AssertionError("only a key of the site can be changed")
    put(table, column.place, value_of(column, written))


def value_of(column: Column, written: str) -> object:
    """The value of a key as it is written in a site file or a cell of a sheet; what is none stays text, for the checks.

    Spreadsheets write TRUE in capital letters.
    """
    if column.is_text:
        return written
    written = written.lower() if written.lower() in {"true", "false"} else written
    try:
        (value,) = tomllib.loads(f"value = {written}").values()
    except ValueError:
        return written
    return value
