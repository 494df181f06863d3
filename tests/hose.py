"""Brackenfold's garden with a ring of jets, its site file changed line by line, and its weather."""

import re
import shutil
from pathlib import Path

import waterbudget

DEMO = Path(__file__).parent.parent / "data_demo" / "hose"
BY_GRAVITY = (  # a dead end below the floor of the tank, without pump and battery
    (r"^\[pump\][^[]*\[battery\][^[]*?(?=# ----)", ""),
    (r"^ring = true", "ring = false"),
    (r"^rise_m = 0.6", "rise_m = 0.5"),
    (r"^k_l_h = 3\b", "k_l_h = 12"),
)


def garden(folder, *changes):
    """The path of a copy with changes, each a pattern of whole lines and what stands there then."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    path = folder / "site.toml"
    text = path.read_text("utf-8")
    for pattern, there in changes:
        text, found = re.subn(pattern, there, text, flags=re.MULTILINE)
        assert found, pattern
    path.write_text(text, "utf-8")
    return path


def site_of(folder, *changes):
    return waterbudget.load_site(garden(folder, *changes))


def opened(folder, *changes):
    site = site_of(folder, *changes)
    return site, waterbudget.read_weather(folder / site.weather.file, site)
