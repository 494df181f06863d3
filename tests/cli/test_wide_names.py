"""Names of letters that take two columns of a terminal each, or none, push no screen apart.

Widths by the wcwidth library, which follows Unicode's East Asian Width (UAX 11) and its emoji and combining marks.
"""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from wcwidth import width

import waterbudget
from waterbudget.cli.main import main

DEMO = Path(waterbudget.__file__).parents[1] / "data_demo"
NAMES = {
    "Class-room tank": "教室の大きな水槽",
    "Shed butt": "Hu\u0308tte 🛖🪣",
    "Class-room roof": "教室の屋根",
    "Shed roof": "👩\u200d🌾の小屋",
    "North line": "北のライン",
    "South line": "Su\u0308dliche Leitung",
    "Class cans": "じょうろ🚿",
    "Tomato bed": "トマトの畑",
    "Bean bed": "Bo\u0308hnchenbeet",
    "Salad bed": "サラダ菜の畑🥬",
    "Potato bed": "じゃがいもの畑はとてもとても長い名前です",
}
SCREENS = {
    "run": ("run", "site.toml", "--full"),
    "check": ("check", "site.toml", "--full"),
    "today": ("today", "site.toml", "--on", "2031-07-05"),
    "compare": ("compare", "site.toml", "--with", "zone.北のライン.minutes=8"),
    "improve": ("improve", "site.toml"),
    "line": ("line", "hose/site.toml"),
    "size": ("size", "site.toml", "--full"),
    "odds": ("odds", "years/site.toml", "--full"),
    "hotspell": ("hotspell", "site.toml", "--full"),
}


@pytest.fixture(scope="module")
def garden(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wide") / "demo"
    shutil.copytree(DEMO, folder)
    for file in [*folder.rglob("*.toml"), *folder.rglob("journal.csv")]:
        text = file.read_text("utf-8")
        for plain, wide in NAMES.items():
            text = text.replace(plain, wide)
        file.write_text(text, "utf-8")
    return folder


@pytest.fixture(scope="module")
def shown(garden):
    def show(name):
        command, site, *more = SCREENS[name]
        result = CliRunner().invoke(main, [command, str(garden / site), *more], catch_exceptions=False)
        assert result.exit_code == 0, result.stderr
        return result.stdout.splitlines()

    return show


@pytest.mark.parametrize("name", SCREENS)
def test_no_line_is_wider_than_the_screen(shown, name, garden):
    for line in shown(name):
        assert width(line) <= 100 or str(garden) in line, line


@pytest.mark.parametrize(("name", "table"), [("run", "Stores"), ("run", "Beds"), ("today", "Beds")])
def test_the_columns_of_a_table_stand_below_each_other(shown, name, table):
    lines = shown(name)
    start = next(number for number, line in enumerate(lines) if line.startswith(f"{table} "))
    rows = lines[start : lines.index("", start)]
    assert any(not row.isascii() for row in rows)
    assert len({width(row) for row in rows if row.strip()[-1:].isalnum() and row[0] != " "}) == 1


def test_the_levels_of_all_stores_begin_below_each_other(shown):
    rows = [line for line in shown("run") if line.endswith("|") and "█" in line]
    assert len(rows) == 2
    assert len({width(row.partition("|")[0]) for row in rows}) == 1
