"""A site with every key left out that can be, and a site as TOML again."""

import json
from datetime import date

from plain import BED, DRAW, JETS, MODEL, PLACE, PLANTING, POTS, ROOF, TANK, TRANSFER, ZONE, top_layer


def lean(site):
    """The same site with every key left out that stands at its default."""
    defaults = {"roof": ROOF, "tank": TANK, "transfer": TRANSFER, "draw": DRAW}
    thin = {kind: [without(row, default) for row in site[kind]] for kind, default in defaults.items()}
    thin["zone"] = [without(zone, ZONE | JETS[zone["jets"]]) for zone in site["zone"]]
    thin["bed"] = [without(bed, bed_defaults(bed)) for bed in site["bed"]]
    for bed in thin["bed"]:
        bed["planting"] = [without(planting, PLANTING) for planting in bed["planting"]]
    model, place = without(site["model"], MODEL), without(site["site"], PLACE)
    return {kind: rows for kind, rows in (site | thin | {"model": model, "site": place}).items() if rows}


def bed_defaults(bed):
    usual = BED | (POTS if "pots" in bed else {})
    return usual | {"share": bed.get("area_m2")} | top_layer(bed["available_water_mm_m"])


def without(row, defaults):
    """The row less what is at its default."""
    return {key: value for key, value in row.items() if key not in defaults or value != defaults[key]}


def to_toml(table, path=""):
    """A parsed site file as TOML again."""
    heads = [key for key, value in table.items() if is_table(value)]
    lines = [f"{key} = {toml_value(value)}" for key, value in table.items() if key not in heads]
    for key in heads:
        if isinstance(table[key], dict):
            lines += [f"[{path}{key}]", to_toml(table[key], f"{path}{key}.")]
        else:
            for row in table[key]:
                lines += [f"[[{path}{key}]]", to_toml(row, f"{path}{key}.")]
    return "\n".join(lines) + "\n"


def is_table(value):
    return isinstance(value, dict) or (isinstance(value, list) and value != [] and isinstance(value[0], dict))


def toml_value(value):
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    return json.dumps(value, ensure_ascii=False)  # text, numbers and truth values look the same in both
