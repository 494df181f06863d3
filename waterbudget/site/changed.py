"""A copy of a site with some of its keys changed, under the checks of a site file."""

from collections.abc import Mapping
from typing import Any, TypeVar

from waterbudget.errors import InputError, SiteError, shown
from waterbudget.site.check import checked
from waterbudget.site.dates import MonthDay
from waterbudget.site.keys import called, columns_of, put
from waterbudget.site.links import Raw
from waterbudget.site.table import Table
from waterbudget.tables.read import nearest

SiteT = TypeVar("SiteT", bound=Table)


def changed(site: SiteT, changes: Mapping[str, object]) -> SiteT:
    """A checked copy of a site with some keys changed, such as {"zone.North line.minutes": 8}.

    None leaves a key out. Raises InputError for a key that no site has, SiteError with every fault of what comes of it.
    """
    table = _raw(site)
    known = columns_of(type(site), table)
    for head, value in changes.items():
        column = known.get(head)
        if column is None or column.place is None:
            near = nearest(head, known)[:1]
            raise InputError(
                f"{shown(head)} is no key of this site; "
                + (f"did you mean {shown(near[0])}?" if near else 'write one as "tank.Shed butt.capacity_l"')
            )
        put(table, column.place, value)
    return free_of_faults(type(site), {key: _without_none(value) for key, value in table.items()}, "changed")


def free_of_faults(kind: type[SiteT], table: Raw, where: str) -> SiteT:
    """The checked site of changed tables. Raises SiteError with every fault: where, key, what is wrong."""
    site, faults = checked(kind, table)
    if site is None or faults:
        raise SiteError(f"{where}: {called(place, table)}: {said}" for place, said in faults)
    return site


def _raw(table: Table) -> Raw:
    """A table of a site as a site file writes it."""
    fields = type(table).model_fields
    return {fields[key].alias or key: _written(getattr(table, key)) for key in fields if key in table.model_fields_set}


def _written(value: Any) -> Any:  # noqa: ANN401 - whatever a site holds
    if isinstance(value, Table):
        return _raw(value)
    if isinstance(value, MonthDay):
        return str(value)
    return [_written(one) for one in value] if isinstance(value, list) else value


def _without_none(value: Any) -> Any:  # noqa: ANN401 - whatever a site file holds
    if isinstance(value, dict):
        return {key: _without_none(one) for key, one in value.items() if one is not None}
    return [_without_none(one) for one in value] if isinstance(value, list) else value
