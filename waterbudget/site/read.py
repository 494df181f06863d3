"""Read a site file: all its faults at once, each in one line that names the key.

Slips in keys and table heads come first: each is noted and put right in a copy. The copy is then checked key by key
and across its tables, so that a slip neither hides another fault nor causes one.
"""

import re
import tomllib
from pathlib import Path

from waterbudget.errors import SiteError
from waterbudget.rows.text import read_text
from waterbudget.site.check import MAINS, SHOWN_LETTERS, checked
from waterbudget.site.heads import keys_in, once_in, shown_head, tables_in
from waterbudget.site.links import Fault, Keys, Raw
from waterbudget.site.model import Site
from waterbudget.tables.read import nearest

TABLES, ONCE = tables_in(Site), once_in(Site)
SEVERAL = "|".join(re.escape(head) for head in TABLES if head and head not in ONCE)

HINTS = (  # what tomllib says, or how the line looks; what would be right, with what the look caught in its braces
    (r"^Unescaped", "write / for \\ in a path"),
    (r"^Unclosed array", "a list ends with ]; look at the lines above too"),
    (r"^Illegal character", "text ends with a quote on the line it begins on"),
    (rf"^Cannot (?:declare|overwrite)[^\n]*\n\[({SEVERAL})\]", "use [[{}]], as there may be several"),
    (
        rf"^Cannot (?:declare|overwrite)[^\n]*\n\[\[({SEVERAL})\]\]",
        "one of these stands in single brackets further up; use [[{}]] there too",
    ),
    (r"^Cannot (?:declare|overwrite)", "this is there already; keep one, or write the head of each as [[head]]"),
    (r"[\u2018\u2019\u201c-\u201e]", 'write straight quotes, as in "Shed butt"'),
    (r"=\s*[\u2013\u2014\u2212]", "write a plain minus, as in -1.9"),
    (r"=\s*[-+]?\d+,\d", "write decimals with a point, as 1.5, and thousands with nothing, as 1500"),
    (r"=\s*\d+[-/.]\d+[-/.]\d+", "write a real date as YYYY-MM-DD, such as 2031-05-01"),
    (r"=\s*\d+[-/]\d+\s*(#|$)", 'put month and day in quotes, as in "05-10"'),
    (r"=\s*[-+]?(\.\d|\d+\.(\s|#|$))", "write figures on both sides of the point, as 0.5"),
    (r"^mains\s*=\s*(?i:yes|true|on)\b", MAINS),
    (r"^mains\s*=\s*(?i:no|false|off)\b", 'write "none" where there is no mains water'),
    (r"=\s*(?i:true|false|yes|no|on|off)\b", "write true or false, in small letters"),
    (r"=\s*[A-Za-z]", 'put text in "double quotes"'),
    (r"=\s*[-+.\d]+\s*([^\W\d]|[%°])", "write the number alone; its unit stands in the key, and 90 % is 0.9"),
)
MOST_BYTES = 20_000_000  # some ten thousand beds
OF_WEATHER = {".csv", ".tsv", ".xlsx", ".xls", ".ods"}
NEW = "waterbudget new FOLDER makes a starter site"


def load_site(path: str | Path) -> Site:
    """The checked site.

    Raises SiteError with every fault of the file, each in one line: file, key, what is wrong, what would be right.
    """
    path = Path(path)
    if path.suffix.lower() in OF_WEATHER and path.is_file():
        raise SiteError(f"{path}: that is a weather file; give the site file, such as site.toml")
    return site_in(read_text(path, "site file", NEW, "save the site file as UTF-8", SiteError, MOST_BYTES), path)


def site_in(text: str, where: str | Path) -> Site:
    """The checked site of the text of a site file. Raises SiteError as `load_site`; where: what it calls the file."""
    faults: list[Fault] = []
    site, more = site_of(_spelt(_toml(text, where), "", (), faults))
    faults += more
    if site is None or faults:
        raise SiteError((f"{where}: {dotted(place)}: {said}" for place, said in faults), [place for place, _ in faults])
    return site


def site_of(table: Raw) -> tuple[Site | None, list[Fault]]:
    """The site of the tables of a file, and every fault of theirs; None where a key is at fault."""
    return checked(Site, table)


def dotted(place: Keys) -> str:
    """The key as a person counts: ("bed", 1, "area_m2") is bed[2].area_m2."""
    return "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in place).lstrip(".")


# ---- From file to tables -------------------------------------------------------------------------------------------


def _toml(text: str, where: str | Path) -> Raw:
    if not text.strip():
        raise SiteError(f"{where}: is empty; {NEW}")
    try:
        return tomllib.loads(text + "\n")
    except tomllib.TOMLDecodeError as error:
        raise SiteError(f"{where}: {_toml_fault(text, str(error))}") from None
    except ValueError:  # Python's own limit, which tomllib passes on
        raise SiteError(f"{where}: holds a number of thousands of digits; write one that a garden needs") from None
    except RecursionError:
        raise SiteError(f"{where}: lists or tables are nested too deep; two brackets are the most needed") from None


def _toml_fault(text: str, error: str) -> str:
    reason, _, place = error.rpartition(" (at ")
    match = re.match(r"line (\d+)", place)
    if not match:
        return f"end of the file: {reason}; a list ends with ], text with a quote, and a key has a value"
    number = int(match[1])
    line = text.split("\n")[number - 1].strip()
    found = ((re.search(look, f"{reason}\n{line}", re.MULTILINE), advice) for look, advice in HINTS)
    advice = next((advice.format(*match.groups()) for match, advice in found if match), None)
    return f"line {number} ({line[:SHOWN_LETTERS]}): " + (
        advice or f"{reason[:1].lower()}{reason[1:]}; each line is a [head], a key = value or a # remark"
    )


# ---- Slips in keys and heads ---------------------------------------------------------------------------------------


def _spelt(table: Raw, head: str, place: Keys, faults: list[Fault]) -> Raw:
    """A copy of a table with its misspelt keys put right and without the unknown ones, each added to the faults."""
    known, spelt = keys_in(Site, head), Raw()
    for key, value in table.items():
        name = key
        if key not in known:
            elsewhere, near = _elsewhere(key, value), nearest(key, known)[:1]
            faults.append(((*place, key), _unknown(head, elsewhere, near)))
            if elsewhere or not near or near[0] in {*table, *spelt}:
                continue
            name = near[0]
        inner = f"{head}.{name}" if head else name
        spelt[name] = _headed(value, inner, (*place, name), faults) if inner in TABLES else value
    return spelt


def _headed(value: object, head: str, place: Keys, faults: list[Fault]) -> object:
    """What stands under a head, in the brackets that it should have."""
    is_one = isinstance(value, dict)
    if is_one and head not in ONCE:
        faults.append((place, f"stands in single brackets; write its head as {shown_head(Site, head)}"))
        value = [value]
    elif isinstance(value, list) and len(value) == 1 and head in ONCE:
        faults.append((place, f"stands in double brackets; write its head as {shown_head(Site, head)}"))
        value = value[0]
    return _all_spelt(value, head, place, faults)


def _all_spelt(value: object, head: str, place: Keys, faults: list[Fault]) -> object:
    if isinstance(value, list):
        return [_all_spelt(item, head, (*place, number), faults) for number, item in enumerate(value)]
    return _spelt(value, head, place, faults) if isinstance(value, dict) else value


def _elsewhere(key: str, value: object) -> list[str]:
    """The heads that a table of this name would have, or under which a key of this name would be known."""
    if isinstance(value, dict) or (isinstance(value, list) and any(isinstance(item, dict) for item in value)):
        return [shown_head(Site, head) for head in TABLES if head.rpartition(".")[2] == key]
    return [shown_head(Site, head) for head in TABLES if head and key in keys_in(Site, head)]


def _unknown(head: str, elsewhere: list[str], near: list[str]) -> str:
    if elsewhere:
        return f"unknown key here; it belongs to {' or '.join(elsewhere)}"
    return (
        f"unknown key; did you mean {near[0]}?"
        if near
        else f"unknown key; known here: {', '.join(keys_in(Site, head))}"
    )
