"""What the package offers by name: all of it is there, says what it is, and is imported only when it is asked for."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import waterbudget
from waterbudget import figures

DEMO = Path(waterbudget.__file__).parents[1] / "data_demo"


@pytest.mark.parametrize("name", waterbudget.__all__)
def test_a_name_is_there_and_says_what_it_is(name):
    offered = getattr(waterbudget, name)
    assert offered.__name__.removeprefix("waterbudget.") == name
    assert offered.__doc__.strip()
    assert name in dir(waterbudget)


def test_another_name_is_not_there():
    with pytest.raises(AttributeError, match="has no attribute 'runs'"):
        waterbudget.runs  # noqa: B018


@pytest.mark.parametrize(
    ("text", "module", "offered"),
    [
        (waterbudget.__doc__, "waterbudget", set(waterbudget.__all__)),
        (figures.__doc__, "figures", set(figures.__all__)),
    ],
)
def test_what_help_shows_is_there(text, module, offered):
    used = set(re.findall(rf"\b{module}\.(\w+)", text))
    assert used
    assert used <= offered


def test_importing_the_package_imports_nothing_heavy():
    program = (
        "import sys, waterbudget; "
        "print(*[name for name in ('numpy', 'pandas', 'pydantic', 'matplotlib') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=DEMO.parent)
    assert done.stdout.split() == []


def test_the_figures_need_no_import_of_their_own():
    program = "import waterbudget; print(waterbudget.figures.level.__name__)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=DEMO.parent)
    assert done.stdout == "level\n"


def test_a_script_asks_every_question_by_public_names():
    garden = waterbudget.open_site(str(DEMO / "allotment" / "site.toml"))
    assert isinstance(garden, waterbudget.Opened)
    sizes = waterbudget.find_size(garden, waterbudget.Sweep(steps=5), waterbudget.Question(tank="Butt"))
    assert sizes.finding.study.tank.name == "Butt"
    spell = waterbudget.find_hotspell(garden, waterbudget.Spell(days=7))
    assert spell.finding.spell.days == 7
    years = waterbudget.open_site(DEMO / "years" / "site.toml", every_year=True)
    assert waterbudget.find_odds(years).finding.asked.years.years_behind == 12
    line = waterbudget.find_line(waterbudget.open_site(DEMO / "hose" / "site.toml"))
    assert line.finding.flow_l_min > 0.0
    assert "smallest size tried" in str(sizes) or "No size" in str(sizes)
    assert str(spell).startswith("Allotment with one butt, a hot spell")
    assert str(line).startswith("North line of Brackenfold")
    with pytest.raises(waterbudget.InputError, match="days is 0"):
        waterbudget.Spell(days=0)
