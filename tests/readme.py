"""The parts of README.md that the program makes; run by hand, `python tests/readme.py` brings them up to date."""

import re
import shutil
import tempfile
from pathlib import Path

from click.testing import CliRunner

from waterbudget.cli.main import main

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
PICTURE = ROOT / "data_demo" / "level.png"
PAGES = {ROOT / "data_demo" / "page_today.png": "/", ROOT / "data_demo" / "page_dip.png": "/dip"}
SCREEN = re.compile(r"(?<=<!-- screen -->\n).*?(?=<!-- end of screen -->)", re.DOTALL)


def screen_block():
    shown = CliRunner().invoke(main, ["run", str(ROOT / "data_demo" / "site.toml")], catch_exceptions=False).stdout
    return f"\n```text\n{shown.rstrip()}\n```\n\n"


def refresh():
    README.write_text(SCREEN.sub(lambda _: screen_block(), README.read_text("utf-8")), "utf-8")
    arguments = ["run", str(ROOT / "data_demo" / "site.toml"), "--plot", str(PICTURE), "--overwrite"]
    CliRunner().invoke(main, arguments, catch_exceptions=False)
    draw_pages()


def draw_pages():
    """The page on a phone after a dip."""
    from playwright.sync_api import sync_playwright
    from serving import NAME, PHONE, garden, serving

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        place = Path(folder) / "garden"
        place.mkdir()
        garden(place)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=[f"--host-resolver-rules=MAP {NAME} 127.0.0.1"]
        )
        with serving(place) as served:
            dips = ["Class-room tank=62cm", "Shed butt=180L"]
            served.post_json("/api/entries", {"key": "readme", "levels": dips})
            width, height = PHONE
            tab = browser.new_page(viewport={"width": width, "height": height})
            tab.goto(served.join)
            for picture, path in PAGES.items():
                tab.goto(f"{served.home}{path}")
                tab.wait_for_load_state("networkidle")
                tab.screenshot(path=picture)
        browser.close()


if __name__ == "__main__":
    refresh()
