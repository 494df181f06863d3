"""The tables that a site file may hold, each by its head, as the model of a site tells them."""

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple, get_args, get_origin

from pydantic.fields import FieldInfo

from waterbudget.site.table import Table


class Head(NamedTuple):
    """A head of a site file: [name] where its table stands once, [[name]] where there may be several."""

    name: str
    table: type[Table]
    is_once: bool


@cache
def tables_in(kind: type[Table]) -> Mapping[str, type[Table]]:
    """The tables of a kind of site by head, such as "bed.planting"; the file itself has none."""
    return MappingProxyType({"": kind} | {head.name: head.table for head in _heads(kind, "")})


@cache
def once_in(kind: type[Table]) -> frozenset[str]:
    """The heads that stand in single brackets."""
    return frozenset(head.name for head in _heads(kind, "") if head.is_once)


def keys_in(kind: type[Table], head: str) -> dict[str, FieldInfo]:
    """The keys that the table under a head may have, as they are written."""
    return {field.alias or name: field for name, field in tables_in(kind)[head].model_fields.items()}


def shown_head(kind: type[Table], head: str) -> str:
    """A head as it is written: [model], or [[bed]]."""
    return f"[{head}]" if head in once_in(kind) else f"[[{head}]]"


def _heads(kind: type[Table], outer: str) -> Iterator[Head]:
    for name, field in kind.model_fields.items():
        table, is_list = _table(field.annotation)
        if table is not None:
            head = f"{outer}.{field.alias or name}".lstrip(".")
            yield Head(head, table, not is_list)
            yield from _heads(table, head)


def _table(hint: Any, *, is_list: bool = False) -> tuple[type[Table] | None, bool]:  # noqa: ANN401 - any annotation
    """The table that a key holds and whether in a list; None where it holds a plain value."""
    if isinstance(hint, type) and issubclass(hint, Table):
        return hint, is_list
    for part in get_args(hint):
        found = _table(part, is_list=is_list or get_origin(hint) is list)
        if found[0] is not None:
            return found
    return None, False
