"""Read a site file: all its faults at once, each in one line that names the key."""

import difflib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from waterbudget.errors import SiteError
from waterbudget.site.links import link_faults
from waterbudget.site.model import Site

Fault = tuple[tuple[str | int, ...], str]

LIMITS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}
KINDS = {
    "float_type": "a number",
    "finite_number": "a finite number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "string_type": 'text in "double quotes"',
    "string_too_short": "a name",
    "string_pattern_mismatch": "a name",
    "string_too_long": "at most 80 letters",
}


def load_site(path: str | Path) -> Site:
    """The checked site.

    Raises SiteError with every fault of the file at once, each in one line: file, key, what is wrong, what would be right.
    """
    path = Path(path)
    table = _toml(path)
    faults: list[Fault] = []
    site = None
    try:
        site = Site.model_validate(table)
    except ValidationError as error:
        faults += [(detail["loc"], _wording(detail)) for detail in error.errors(include_url=False)]
    faults += link_faults(table)
    if site is None or faults:
        raise SiteError(f"{path}: {f'{dotted(place)}: ' if place else ''}{text}" for place, text in faults)
    return site


def dotted(place: tuple[str | int, ...]) -> str:
    """The key as a person counts: ("bed", 1, "area_m2") is bed[2].area_m2."""
    return "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in place).lstrip(".")


def _toml(path: Path) -> dict[str, Any]:
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise SiteError(f"{path}: there is no such file; waterbudget new FOLDER makes a starter site") from None
    except IsADirectoryError:
        raise SiteError(f"{path}: is a folder; name the site file in it") from None
    except UnicodeDecodeError:
        raise SiteError(f"{path}: is not UTF-8 text; save the site file as UTF-8") from None
    except OSError as error:
        raise SiteError(f"{path}: cannot be read: {error.strerror}") from error
    if not text.strip():
        raise SiteError(f"{path}: is empty; waterbudget new FOLDER makes a starter site")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SiteError(f"{path}: {_toml_fault(text, str(error))}") from error


def _toml_fault(text: str, said: str) -> str:
    place = re.search(r"line (\d+)", said)
    lines = text.splitlines()
    line = lines[min(int(place[1]), len(lines)) - 1].strip() if place else ""
    where = f"line {place[1]} ({line[:60]})" if place else "the end of the file"
    if re.search(r"=\s*-?\d+,\d", line):
        return f"{where}: decimal comma; write a point, as in 1.5"
    if re.search(r"=\s*\d\d?[/.]\d\d?[/.]\d{2,4}", line):
        return f"{where}: write a date as YYYY-MM-DD, such as 2031-05-01"
    if re.search(r"=\s*\d\d-\d\d\s*(#|$)", line):
        return f'{where}: put month and day in quotes, as in "05-10"'
    if re.search(r"=\s*[A-Za-z]", line):
        return f'{where}: put text in "double quotes"; true and false stand without'
    reason = re.sub(r" ?\(at .*?\)", "", said)
    return f"{where}: not valid TOML: {reason}"




def _wording(detail: ErrorDetails) -> str:
    kind, got, about = detail["type"], detail["input"], detail.get("ctx", {})
    field = _description(detail["loc"])
    if kind == "missing":
        return f"is missing; {_missing(detail['loc'], field)}"
    if kind == "extra_forbidden":
        return _unknown_key(detail["loc"])
    if kind == "value_error":
        said = str(about["error"])
        return said if isinstance(got, dict) else f"is {_shown(got)}; {said}"
    if kind == "literal_error":
        allowed = re.findall(r"'(.*?)'", str(about["expected"]))
        return f"is {_shown(got)}; write {_one_of(allowed, got)}"
    if kind in LIMITS:
        key, word = LIMITS[kind]
        return f"is {_shown(got)}; write a number {word} {about[key]:g}{f' ({field})' if field else ''}"
    if kind in KINDS:
        return f"is {_shown(got)}; write {KINDS[kind]}{f' ({field})' if field else ''}"
    if kind in {"too_short", "too_long"}:
        wanted = about["min_length"] if kind == "too_short" else about["max_length"]
        if detail["loc"] == ("tank",):
            return "there is none; add a [[tank]] table"
        return f"has {about['actual_length']} values; write {wanted} ({field})"
    if kind == "list_type":
        tables = detail["loc"][-1] in {"roof", "tank", "zone", "draw", "bed", "planting"}
        name = ".".join(str(part) for part in detail["loc"] if isinstance(part, str))
        return f"write the table's head as [[{name}]]" if tables else f"is {_shown(got)}; write a [list] ({field})"
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return f"is {_shown(got)}; write a table [{detail['loc'][-1]}] with keys of its own"
    return f"is {_shown(got)}; {detail['msg'][0].lower()}{detail['msg'][1:]}"


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value[:40]}"'
    return str(value)[:60]


def _one_of(allowed: list[str], got: object) -> str:
    near = difflib.get_close_matches(str(got).lower(), allowed, 1)
    listed = ", ".join(f'"{word}"' for word in allowed)
    return f"one of {listed}{f' (nearest: {chr(34)}{near[0]}{chr(34)})' if near else ''}"


def _models(loc: tuple[str | int, ...]) -> Iterator[type[BaseModel]]:
    """The models on the way down to a key, the outermost first."""
    model: type[BaseModel] = Site
    yield model
    for part in loc:
        if isinstance(part, int):
            continue
        found = next((f.annotation for n, f in model.model_fields.items() if part in (n, f.alias)), None)
        inner = next((kind for kind in (found, *get_args(found)) if isinstance(kind, type)), None)
        if inner is None or not issubclass(inner, BaseModel):
            return
        model = inner
        yield model


def _description(loc: tuple[str | int, ...]) -> str:
    names = [part for part in loc if isinstance(part, str)]
    *_, owner = _models(loc[:-1] if loc else ())
    field = next((f for n, f in owner.model_fields.items() if names and names[-1] in (n, f.alias)), None)
    return (field.description or "") if field else ""


def _missing(loc: tuple[str | int, ...], field: str) -> str:
    if len(loc) == 1:
        head = f"[{loc[0]}]" if loc[0] == "site" else f"[[{loc[0]}]]"
        return f"add a {head} table"
    return f"add {loc[-1]} = … ({field})"


def _unknown_key(loc: tuple[str | int, ...]) -> str:
    *_, owner = _models(loc[:-1])
    known = [field.alias or name for name, field in owner.model_fields.items()]
    near = difflib.get_close_matches(str(loc[-1]), known, 1, cutoff=0.5)
    return f"unknown key; did you mean {near[0]}?" if near else f"unknown key; known here: {', '.join(known)}"
