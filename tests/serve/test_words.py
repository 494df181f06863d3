"""What a gardener reads on a page names no option, no folder of the computer and no line of a file."""

import re
import shutil

import pytest
from readme import ROOT
from serving import serving

from waterbudget.errors import InputError, Said, plain
from waterbudget.serve.more import PAGES
from waterbudget.serve.routes import application
from waterbudget.site.kinds import PARTS

BAD = re.compile(r"--[a-z]+|/tmp|/root|/home|\.toml line|waterbudget (?:log|run|fit|weather|check|serve|roofs)\b")
TYPED = re.compile(
    r"\b(?:rain|et0|tmin|tmax|flow|capacity|runoff|first_flush|transfer|water_per)_[a-z0-9]+\b|\[\[?[a-z]+\]"
)
TAGS = re.compile(r"<script.*?</script>|<(?!img)[^>]*>", re.DOTALL)
PATHS = [path for path, _ in PAGES] + [
    "/",
    "/dip",
    "/line",
    "/more",
    "/garden/weather",
    "/garden/weather/0",
    "/nothing",
]
PATHS += [f"/garden/add/{kind}" for kind in PARTS]
PATHS += ["/garden/crops", "/garden/edit/tank/1", "/garden/edit/zone/1", "/garden/edit/bed/1", "/garden/edit/effort"]
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
REFUSED = [
    ("/entries", "key=a"),
    ("/entries", "key=a&store=Nobody&value=5&unit=L"),
    ("/entries", "key=a&store=Shed+butt&value=9999&unit=cm"),
    ("/entries", "key=a&gauge_mm=9999"),
    ("/entries", "key=a&line=None&minutes=5"),
    ("/entries", "key=a&line=South+line&minutes=5000"),
    ("/entries", "key=a&store=Shed+butt&mains_l=-1"),
    ("/entries", "key=%2F&gauge_mm=1"),
    ("/undo", "key=a&line=77"),
    ("/undo", "key=a&line=x"),
    ("/line/start", "key=a&line=None"),
    ("/line/stop", "key=a&line=None"),
    ("/what-if/take", "mark=x&place=zone.South+line.minutes&value=3"),
    ("/sunday/yes", "mark=x"),
    ("/garden/undo", "mark=x"),
    ("/garden/begin", "garden=Yard"),
    ("/garden/weather/keep", "number=0"),
]


def read(text):
    """What is read of a page."""
    return TAGS.sub(" ", text)


def states(served):
    """The garden as it may be found: a name, after each of which its pages are read."""
    yield "as it is"
    journal = ROOT / "data_demo" / "journal"
    site = (journal / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    served.site.write_text(site, "utf-8")
    shutil.copy(journal / "journal.csv", served.folder)
    yield "with a journal"
    (served.folder / "weather.csv").unlink()
    yield "without weather"
    (served.folder / "journal.csv").write_text("no journal\n", "utf-8")
    yield "with a file that is no journal"
    (served.folder / "journal.csv").unlink()
    served.site.write_text(site.replace('file = "weather.csv"', "nearest = true"), "utf-8")
    yield "with a station that nobody asked"
    served.site.unlink()
    yield "with nothing"


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    """A page of its own, as the garden is not left as it was."""
    from serving import garden

    folder = tmp_path_factory.mktemp("words") / "garden"
    folder.mkdir()
    garden(folder)
    with serving(folder) as page:
        yield page


def test_no_page_names_an_option_or_a_folder(own):
    for state in states(own):
        for path in PATHS:
            status, _, text = own.ask("GET", f"{path}?wait=yes", timeout=120)
            assert status < 500, (state, path)
            words = read(text)
            assert BAD.search(words) is None, (state, path, BAD.search(words))
            assert TYPED.search(words) is None, (state, path, TYPED.search(words))


@pytest.mark.parametrize(("path", "body"), REFUSED)
def test_no_refusal_names_an_option_or_a_folder(served, path, body):
    headers = {**served.own, **FORM}
    status, _, text = served.ask("POST", path, body, headers=headers, timeout=60)
    assert status >= 400
    words = read(text)
    assert BAD.search(words) is None
    assert TYPED.search(words) is None
    assert "href=" in text, "there is a way on"


def test_every_page_that_can_be_opened_is_looked_at(served):
    """Those that show a part or a picture by its number aside."""
    from types import SimpleNamespace

    from waterbudget.serve.house import House

    house = House(SimpleNamespace(path=served.site), print)
    looked_at = {path.split("?")[0] for path in PATHS}
    routes = [one.path for one in application(house).routes if "GET" in (one.methods or ())]
    open_ = {path for path in routes if "{" not in path and not path.startswith("/api/") and "." not in path}
    assert open_ <= looked_at


def test_what_is_typed_and_what_is_tapped():
    error = InputError([Said("add --fill", "tap on Fill"), "both", Said("typed alone", "")])
    assert error.faults == ("add --fill", "both", "typed alone")
    assert error.plain == ("tap on Fill", "both")
    assert plain("both") == "both"
