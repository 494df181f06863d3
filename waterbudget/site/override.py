"""A site with some of its keys changed, each named as "tank.Shed butt.capacity_l", under the checks of a site file."""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic.fields import FieldInfo

from waterbudget.errors import InputError, SiteError, shown
from waterbudget.site.dates import MonthDay
from waterbudget.site.links import Keys, Raw
from waterbudget.site.model import Site
from waterbudget.site.read import ONCE, TABLES, load_site, site_of
from waterbudget.site.table import Table
from waterbudget.tables.read import nearest


class Column(NamedTuple):
    """A key of a site that may be changed.

    head: what it is called. place: where it stands, None for what a batch knows besides. is_text: whether its value is
    kept as it is written. The site may hold fewer tables than the place has parts: those that it leaves out are added.
    """

    head: str
    place: Keys | None
    is_text: bool


def raw_site(path: Path) -> Raw:
    """The tables of a site file that is free of faults. Raises SiteError with every fault of any other."""
    load_site(path)
    return tomllib.loads(path.read_text("utf-8-sig"))


def checked_site(table: Raw, where: str) -> Site:
    """The checked site of changed tables. Raises SiteError with every fault: where, key, what is wrong."""
    site, faults = site_of(table)
    if site is None or faults:
        raise SiteError(f"{where}: {called(place, table)}: {said}" for place, said in faults)
    return site


def changed(site: Site, changes: Mapping[str, object]) -> Site:
    """A checked copy of a site with some keys changed, such as {"zone.North line.minutes": 8}.

    None leaves a key out. Raises InputError for a key that no site has, SiteError with every fault of what comes of it.
    """
    table = _raw(site)
    known = columns_of(table)
    for head, value in changes.items():
        column = known.get(head)
        if column is None or column.place is None:
            near = nearest(head, known)[:1]
            raise InputError(
                f"{shown(head)} is no key of this site; "
                + (f"did you mean {shown(near[0])}?" if near else 'write one as "tank.Shed butt.capacity_l"')
            )
        put(table, column.place, value)
    return checked_site({key: _without_none(value) for key, value in table.items()}, "changed")


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


def columns_of(template: Raw) -> dict[str, Column]:
    """A column for every key that the tables of a site may have, such as "tank.Shed butt.capacity_l"."""
    known = {}
    for head, place in _table_places(template):
        for key, field in TABLES[".".join(part for part in place if isinstance(part, str))].model_fields.items():
            written = field.alias or key
            if ".".join([*(part for part in place if isinstance(part, str)), written]) not in TABLES:
                known[f"{head}.{written}"] = Column(f"{head}.{written}", (*place, written), _is_text(field))
    return known


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


def put(table: Raw, place: Keys, value: object) -> None:
    """Set a key of the tables of a site."""
    *heads, key = place
    inner: Any = table
    for head in heads:
        inner = inner.setdefault(head, {}) if isinstance(head, str) else inner[head]
    inner[key] = value


def called(place: Keys, table: Raw) -> str:
    """What a place is called: ("tank", 1, "dead_l") is tank.Shed butt.dead_l."""
    words: list[str] = []
    inner: Any = table
    for part in place:
        if isinstance(part, str):
            inner = inner.get(part)
            words.append(part)
        else:
            inner = inner[part]
            name = inner.get("name") if isinstance(inner, dict) else None
            words.append(name if isinstance(name, str) else str(part + 1))
    return ".".join(words)


def _table_places(template: Raw) -> Iterator[tuple[str, Keys]]:
    """Every table that stands in a site, or may once: what it is called, and its keys."""
    for kind in TABLES:
        if kind in ONCE:
            yield kind, (kind,)
        elif kind and "." not in kind:
            for number, table in enumerate(template.get(kind, [])):
                head = f"{kind}.{table.get('name', number + 1)}"  # a ban has no name
                yield head, (kind, number)
                for inner in range(len(table.get("planting", []))):
                    yield f"{head}.planting.{inner + 1}", (kind, number, "planting", inner)


def _is_text(field: FieldInfo) -> bool:
    def holds(hint: Any) -> bool:  # noqa: ANN401
        if hint is str or get_origin(hint) is Literal:
            return True
        return get_origin(hint) is not list and any(holds(part) for part in get_args(hint))

    return holds(field.annotation)
