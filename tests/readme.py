"""The parts of README.md that the program makes; run by hand, `python tests/readme.py` brings them up to date."""

import re
from pathlib import Path

from click.testing import CliRunner

from waterbudget.cli.main import main

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
PICTURE = ROOT / "data_demo" / "level.png"
SCREEN = re.compile(r"(?<=<!-- screen -->\n).*?(?=<!-- end of screen -->)", re.DOTALL)


def screen_block():
    shown = CliRunner().invoke(main, ["run", str(ROOT / "data_demo" / "site.toml")], catch_exceptions=False).stdout
    return f"\n```text\n{shown.rstrip()}\n```\n\n"


def refresh():
    README.write_text(SCREEN.sub(lambda _: screen_block(), README.read_text("utf-8")), "utf-8")
    arguments = ["run", str(ROOT / "data_demo" / "site.toml"), "--plot", str(PICTURE), "--overwrite"]
    CliRunner().invoke(main, arguments, catch_exceptions=False)


if __name__ == "__main__":
    refresh()
