"""The tables of a site under the checks of its model: every fault, in words that tell what would be right."""

import json
import re
from typing import TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from waterbudget.errors import headed
from waterbudget.site.heads import keys_in, shown_head, tables_in
from waterbudget.site.links import Fault, Raw, link_faults
from waterbudget.site.table import Table
from waterbudget.tables.read import nearest

MAINS = 'write "direct" where a hose gives what is short, "float" for a float valve, "none" for no mains water'
WANTED = {  # by pydantic's word for the fault; braces hold its limits
    "float_type": "a number",
    "finite_number": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "string_type": 'text in "double quotes"',
    "string_too_long": "at most {max_length} letters",
    "list_type": "a list in [brackets]",
    "greater_than": "a number above {gt:_.15g}",
    "greater_than_equal": "a number from {ge:_.15g} up",
    "less_than": "a number below {lt:_.15g}",
    "less_than_equal": "a number up to {le:_.15g}",
}
WHOLE, SURELY_PER_CENT, PER_CENT = 1.0, 2.0, 100.0
SHOWN_LETTERS = 60

SiteT = TypeVar("SiteT", bound=Table)


def checked(kind: type[SiteT], table: Raw) -> tuple[SiteT | None, list[Fault]]:
    """The site of the tables of a file, and every fault of theirs; None where a key is at fault."""
    site, faults = None, list[Fault]()
    try:
        site = kind.model_validate(table)
    except ValidationError as error:
        faults += [(detail["loc"], wording(detail, kind)) for detail in error.errors(include_url=False)]
    return site, faults + link_faults(table)


def wording(detail: ErrorDetails, kind_of_site: type[Table]) -> str:
    """What is wrong with a key, and what would be right."""
    kind, got, limits = detail["type"], detail["input"], detail.get("ctx", {})
    *heads, key = (part for part in detail["loc"] if isinstance(part, str))
    inner = ".".join((*heads, key))
    if inner in tables_in(kind_of_site) and kind == "value_error":
        return _raised(limits["error"])
    if inner in tables_in(kind_of_site):
        there = "is missing" if kind in {"missing", "too_short"} else f"is {_shown(got)}"
        return f"{there}; write a table with the head {shown_head(kind_of_site, inner)}"
    about = keys_in(kind_of_site, ".".join(heads))[key].description
    if kind == "missing":
        return f"is missing; add {key} = … ({about})"
    if kind == "value_error":
        return headed(f"{'is missing' if got is None else f'is {_shown(got)}'}; ", _raised(limits["error"]))
    if kind in {"too_short", "too_long"}:
        wanted = limits.get("min_length", limits.get("max_length"))
        return f"has {limits['actual_length']} values; write {wanted} ({about})"
    return f"is {_shown(got)}; write {_wanted(detail)} ({about})"


def _raised(error: ValueError) -> str:
    """What a check of ours says, as it is typed and as it is tapped."""
    told: str = error.args[0]
    return told


def _wanted(detail: ErrorDetails) -> str:
    kind, got, limits = detail["type"], detail["input"], detail.get("ctx", {})
    if kind == "literal_error" and detail["loc"][-1] == "mains" and str(got).lower() in {"yes", "true", "on"}:
        return MAINS.removeprefix("write ")
    if kind == "literal_error":
        words = re.findall("'(.*?)'", str(limits["expected"]))
        near = [f", most likely {_shown(word)}" for word in nearest(str(got), words)[:1]]
        return f"one of {', '.join(_shown(word) for word in words)}{''.join(near)}"
    wanted = WANTED[kind].format(**limits) if kind in WANTED else detail["msg"]
    if limits.get("le", limits.get("lt")) == WHOLE and SURELY_PER_CENT <= got <= PER_CENT:
        return f"{wanted}, {got / PER_CENT:g} for {got:g} %"
    return wanted


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    try:
        text = (
            json.dumps(value, ensure_ascii=False, default=str) if isinstance(value, str | bool | list) else str(value)
        )
    except ValueError:  # Python writes no whole number of thousands of digits, but hexadecimals can give one
        return "a number of thousands of digits"
    return text if len(text) <= SHOWN_LETTERS else f"{text[:SHOWN_LETTERS]}…"
