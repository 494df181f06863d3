"""The keys of a site, each with a name such as "tank.Shed butt.capacity_l", and where they stand."""

from collections.abc import Iterator
from functools import cache
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic.fields import FieldInfo

from waterbudget.site.heads import keys_in, once_in, tables_in
from waterbudget.site.links import Keys, Raw
from waterbudget.site.table import Table


class Column(NamedTuple):
    """A key of a site that may be changed.

    head: what it is called. place: where it stands, None for what a batch knows besides. is_text: whether its value is
    kept as it is written. The site may hold fewer tables than the place has parts: those that it leaves out are added.
    """

    head: str
    place: Keys | None
    is_text: bool


def columns_of(kind: type[Table], template: Raw) -> dict[str, Column]:
    """A column for every key that the tables of a kind of site may have, such as "tank.Shed butt.capacity_l"."""
    known = {}
    for head, place in _table_places(kind, template):
        table = ".".join(part for part in place if isinstance(part, str))
        for written, is_text in _keys_of(kind, table).items():
            known[f"{head}.{written}"] = Column(f"{head}.{written}", (*place, written), is_text)
    return known


@cache  # by the classes alone, and asked for anew with every copy of a site
def _keys_of(kind: type[Table], table: str) -> dict[str, bool]:
    """The keys of a table that are no tables themselves, and whether each is kept as it is written."""
    fields = keys_in(kind, table).items()
    return {key: _is_text(field) for key, field in fields if f"{table}.{key}" not in tables_in(kind)}


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


def _table_places(kind: type[Table], template: Raw) -> Iterator[tuple[str, Keys]]:
    """Every table that stands in a site, or may once: what it is called, and its keys."""
    for part in tables_in(kind):
        if part in once_in(kind):
            yield part, (part,)
        elif part and "." not in part:
            for number, table in enumerate(template.get(part, [])):
                head = f"{part}.{table.get('name', number + 1)}"  # a ban has no name
                yield head, (part, number)
                for inner in range(len(table.get("planting", []))):
                    yield f"{head}.planting.{inner + 1}", (part, number, "planting", inner)


def _is_text(field: FieldInfo) -> bool:
    def holds(hint: Any) -> bool:  # noqa: ANN401
        if hint is str or get_origin(hint) is Literal:
            return True
        return get_origin(hint) is not list and any(holds(part) for part in get_args(hint))

    return holds(field.annotation)
