"""A gardener's own table of weather, on a phone: looked at, its columns chosen, and kept when it is right."""

import re

import html5lib
import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import expect
from serving import DESK, NARROW, PHONE, WIDER, chosen, table_of

from waterbudget.cli.main import main
from waterbudget.serve.picker import MENU, Picks, as_shown, look, picker
from waterbudget.weather.table.units import OURS, units_of

BOUNDARY = "----brackenfold"


def sent(served, content, name="odd.csv"):
    """The page after a file was sent: its status, path and text."""
    head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="table"; filename="{name}"\r\n\r\n'.encode()
    headers = {**served.own, "Content-Type": f"multipart/form-data; boundary={BOUNDARY}"}
    body = head + content + f"\r\n--{BOUNDARY}--\r\n".encode()
    status, told, text = served.ask("POST", "/garden/weather", body, headers=headers)
    if status != 303:
        return status, "", text
    status, _, text = served.ask("GET", told["location"])
    return status, told["location"], text


def test_odd_heads_are_chosen_from_menus_and_kept(served, phone):  # 20
    tab = phone()
    tab.goto(f"{served.home}/garden/weather")
    before = (served.folder / "weather.csv").read_bytes()
    chosen(tab, table_of(heads="Wann;Nass;Kalt;Heiss"), "../../odd.csv")
    expect(tab.get_by_role("heading", level=1)).to_have_text("Not yet")
    expect(tab.get_by_role("alert")).to_contain_text("Choose what they are.")
    assert tab.get_by_label("What Wann is").input_value() == "date"
    for head, what in (("Nass", "rain"), ("Kalt", "lowest temperature"), ("Heiss", "highest temperature")):
        assert tab.get_by_label(f"What {head} is").input_value() == "none"
        tab.get_by_label(f"What {head} is").select_option(what)
    tab.get_by_role("button", name="Look again").tap()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Is this right?")
    expect(tab.locator(".lead")).to_have_text(
        "34 days, 1 June to 4 July 2031: rain, lowest temperature and highest temperature. That is enough for a run."
    )
    expect(tab.locator("main")).to_contain_text("The first row is of 1 June 2031.")
    assert tab.get_by_label("What Nass is").input_value() == "rain_mm"
    assert (served.folder / "weather.csv").read_bytes() == before
    tab.get_by_role("button", name="Keep it").tap()
    expect(tab.locator("main")).to_contain_text("Weather to 4 July.")
    assert b"2031-07-04" in (served.folder / "weather.csv").read_bytes()
    assert CliRunner().invoke(main, ["check", str(served.site)]).exit_code == 0
    assert sorted(path.name for path in served.folder.parent.iterdir()) == ["data", "garden", "server.log"]


def test_what_was_changed_is_seen_before_it_is_kept(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/garden/weather")
    chosen(tab, table_of())
    before = (served.folder / "weather.csv").read_bytes()
    tab.get_by_label("Unit of Regen").select_option("inches")
    tab.get_by_role("button", name="Keep it").tap()
    expect(tab.get_by_label("Unit of Regen")).to_have_value("inches")
    assert (served.folder / "weather.csv").read_bytes() == before
    tab.get_by_role("button", name="Keep it").tap()
    expect(tab.locator("main")).to_contain_text("Weather to 4 July.")
    rows = (served.folder / "weather.csv").read_text("utf-8").splitlines()
    assert rows[1].startswith("2031-06-01,12.7,")  # half an inch


def test_without_script(served, phone):
    tab = phone(java_script_enabled=False)
    tab.goto(f"{served.home}/garden/weather")
    chosen(tab, table_of(heads="Datum;?;Tmin;Tmax"))
    tab.get_by_label("What ? is").select_option("rain")
    tab.get_by_role("button", name="Look again").tap()
    tab.get_by_role("button", name="Keep it").tap()
    expect(tab.locator("main")).to_contain_text("Weather to 4 July.")


@pytest.mark.parametrize(
    ("content", "said", "choice"),
    [
        ("Day;Rain|01/02/2031;1.5|02/02/2031;0.0", "first", {"order": "day first"}),
        ("Datum;Regen;Strahlung|2031-06-01;0;1,234|2031-06-02;2;2,345", "the numbers are", {"decimals": ","}),
        ("Date,Rain,Rainfall|2031-06-01,0,1|2031-06-02,2,3", "may both be rain", {"what-3": "none"}),
        ("Date,Rain,Tmin,Tmax|2031-05-01,0,19,9|2031-05-02,0,19,9", "way", {"what-3": "tmax_c", "what-4": "tmin_c"}),
        ("Date,Rain,Tmin|2031-05-01,0,1|2031-05-08,1,1|2031-05-15,1,2", "row a week", {"what-3": "none"}),
        ("Date,Tmin,Tmax,Xyz|2031-05-01,1,9,0|2031-05-02,1,9,2", "No column is known for rain.", {"what-4": "rain_mm"}),
        ("Date,Rain,Tmin,Tmax|2031-05-01,0,1,9|2031-05-03,2,1,9", "Rain is missing: 2 May 2031.", {"dry": "yes"}),
        ("A,B|2031.5,0|2031.6,2", "known to hold the day", None),
    ],
)  # fmt: skip
def test_what_is_left_open_is_asked_in_words_and_told_by_a_menu(served, content, said, choice):
    status, path, text = sent(served, content.replace("|", "\n").encode())
    assert status == 200
    assert said in re.search(r'role="alert">(.*?)</p>', text)[1].replace("\N{NO-BREAK SPACE}", " ")
    assert not re.search(r"--[a-z]|_mm|_c\b|/tmp", re.sub(r"<select.*?</select>", "", text, flags=re.DOTALL))
    if not choice:
        return
    picked = {f"what-{n}": name for n, name in enumerate(re.findall(r'value="(\w+)" selected', text), 1)}
    body = "&".join(
        f"{key}={value}" for key, value in {"number": path.split("/")[-1], "do": "keep", **picked, **choice}.items()
    )
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    before = (served.folder / "weather.csv").read_bytes()
    assert served.ask("POST", "/garden/weather/keep", body, headers=headers)[0] == 303
    assert "Is this right?" in served.ask("GET", path)[2]
    assert (served.folder / "weather.csv").read_bytes() == before


def test_every_choice_of_the_menus_is_one_that_the_importer_knows(served):
    content = table_of()
    for what in MENU:
        looked = look(served.site, "odd.csv", content, Picks({"2": what}))
        assert as_shown(looked).what["2"] == what
    for kind in OURS:
        assert next(iter(units_of(kind).values())).factor == 1.0, "ours first"
    for unit in units_of("rain"):
        looked = look(served.site, "odd.csv", content, Picks(units={"2": unit}))
        assert as_shown(looked).units == {"2": unit}
        assert looked.understood.readings[0].unit.shown == unit


def test_what_is_shown_is_what_is_chosen(served):
    """Touching no menu changes nothing."""
    first = look(served.site, "odd.csv", table_of(), Picks())
    again = look(served.site, "odd.csv", table_of(), as_shown(first))
    assert as_shown(again) == as_shown(first)
    assert picker(again) | {"picks": None} == picker(first) | {"picks": None}


def test_what_is_no_table_and_what_is_too_much(served, phone):
    tab = phone()
    tab.allowed = ("422", "413")
    before = (served.folder / "weather.csv").read_bytes()
    for content, said in ((b"\x89PNG\r\n\x1a\n" + b"x" * 500, ""), (b"x" * 20_000_000, "4 MB"), (b"", "")):
        tab.goto(f"{served.home}/garden/weather")
        chosen(tab, content)
        expect(tab.get_by_role("heading", level=1)).to_have_text("Not let in" if said else "Not done")
        expect(tab.locator("main")).to_contain_text(said)
    assert (served.folder / "weather.csv").read_bytes() == before


def test_a_table_that_waited_for_too_long_or_for_another_garden(served):
    headers = {**served.own, "Content-Type": "application/x-www-form-urlencoded"}
    assert served.ask("GET", "/garden/weather/0123")[0] == 409
    _, path, _ = sent(served, table_of())
    served.site.write_text(served.site.read_text("utf-8") + "\n", "utf-8")
    status, _, text = served.ask(
        "POST", "/garden/weather/keep", f"number={path.split('/')[-1]}&do=keep", headers=headers
    )
    assert status == 409
    assert "choose the file again" in text


def test_the_look_of_the_menus(served, phone):
    tab = phone()
    tab.goto(f"{served.home}/garden/weather")
    chosen(tab, table_of(heads="Datum;Regen;<i>Tmin</i>;Tmax"))
    expect(tab.get_by_role("heading", level=1)).to_have_text("Is this right?")
    for size in (PHONE, DESK, NARROW):
        tab.set_viewport_size({"width": size[0], "height": size[1]})
        for scheme in ("light", "dark"):
            tab.emulate_media(color_scheme=scheme)
            found = Axe().run(tab).response["violations"]
            assert [one["id"] for one in found if one["impact"] in {"serious", "critical"}] == []
        assert tab.evaluate(WIDER) == []
        boxes = [
            one.bounding_box() for one in tab.locator("main :is(select, button, summary)").all() if one.is_visible()
        ]
        assert min(box["height"] for box in boxes) >= 44
    assert tab.locator("main i").count() == 0
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(served.ask("GET", tab.url.removeprefix(served.home))[2])
    assert parser.errors == []
