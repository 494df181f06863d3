"""What people say becomes entries, or is refused in one line that says what would be right."""

import datetime as dt

import pytest
from gardens import site_of
from journal.invented import journal

from waterbudget.errors import InputError
from waterbudget.journal.book import read_journal
from waterbudget.journal.entries import LogRequest, entries_of, refuse_earlier, undoing

TODAY = dt.date(2031, 6, 20)
SITE = site_of(
    {
        "site": {"name": "Brackenfold"},
        "tank": [
            {"name": "Class-room tank", "capacity_l": 1500, "start_l": 900, "shape": "upright-cylinder",
             "inner_diameter_m": 1.3, "inner_height_m": 1.13},
            {"name": "Shed butt", "capacity_l": 350, "start_l": 260},
        ],
        "zone": [{"name": "North line", "tank": "Shed butt", "flow_l_min": 3, "minutes": 10}],
    }
)  # fmt: skip


def entries(**said):
    return [entry[1:5] for entry in entries_of(SITE, LogRequest(**said), TODAY)]


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("Class-room tank=38cm", 38.0, "cm"),
        ("Class-room tank = 38.5 cm", 38.5, "cm"),
        ("class-room tank=0.385m", 38.5, "cm"),
        ("CLASSROOM TANK=385mm".replace("CLASSROOM", "CLASS-ROOM"), 38.5, "cm"),
        ("Class-room tank=113cm", 113.0, "cm"),
        ("Class-room tank=0cm", 0.0, "cm"),
        ("Class-room tank=420L", 420.0, "L"),
        ("Class-room tank=1500 l", 1500.0, "L"),
        ("Class-room tank=.5L", 0.5, "L"),
    ],
)
def test_levels_as_people_type_them(said, value, unit):
    assert entries(levels=(said,)) == [("level", "Class-room tank", value, unit)]


def test_all_kinds_in_one_go():
    assert entries(
        levels=("Shed butt=210L", "Class-room tank=90cm"),
        gauge_mm=0.0,
        ran=("North line=10", "north line=2.5min"),
        mains=("Class-room tank=120", "Shed butt=15L"),
    ) == [
        ("level", "Shed butt", 210.0, "L"),
        ("level", "Class-room tank", 90.0, "cm"),
        ("ran", "North line", 10.0, "min"),
        ("ran", "North line", 2.5, "min"),
        ("mains", "Class-room tank", 120.0, "L"),
        ("mains", "Shed butt", 15.0, "L"),
        ("gauge", "", 0.0, "mm"),
    ]


def test_the_day_is_today_or_the_one_that_is_named():
    earlier = TODAY - dt.timedelta(3)
    assert entries_of(SITE, LogRequest(gauge_mm=1.0, note=" after thunder "), TODAY) == [
        (TODAY, "gauge", "", 1.0, "mm", "after thunder")
    ]
    assert entries_of(SITE, LogRequest(gauge_mm=1.0, day=earlier), TODAY)[0].date == earlier


def test_nothing_is_nothing():
    assert LogRequest().is_nothing
    assert LogRequest(note="a", day=TODAY).is_nothing
    assert not LogRequest(gauge_mm=0.0).is_nothing


@pytest.mark.parametrize(
    ("said", "line"),
    [
        ({"levels": ("Shet butt=210L",)}, '--tank Shet butt=210L: "Shet butt" is no tank; did you mean "Shed butt"?'),
        ({"levels": ("Cellar=210L",)}, '"Cellar" is no tank; there is "Class-room tank", "Shed butt"'),
        ({"levels": ("38cm",)}, "--tank 38cm: names no tank; write TANK=38cm or TANK=420L, with one of these:"),
        ({"levels": ("Shed butt=38",)}, 'write a depth or litres, as in "Shed butt=38cm" or "Shed butt=420L"'),
        ({"levels": ("Shed butt=38,5cm",)}, "decimals take a point"),
        ({"levels": ("Shed butt=-3L",)}, "write a depth or litres"),
        ({"levels": ("Shed butt=\u0663L",)}, "write a depth or litres"),
        ({"levels": ("Shed butt=3 feet",)}, "write a depth or litres"),
        ({"levels": ("Shed butt=38cm",)}, "the site gives Shed butt no shape to tell litres from a depth"),
        ({"levels": ("Shed butt=351L",)}, "--tank Shed butt=351L: write 0 to 350 litres that Shed butt holds"),
        ({"levels": ("Class-room tank=114cm",)}, "deeper than Class-room tank, which is 113 cm deep"),
        ({"levels": ("Class-room tank=38m",)}, "deeper than Class-room tank, which is 113 cm deep"),
        ({"gauge_mm": -1.0}, "--gauge: -1: write 0 to 2_000 millimetres"),
        ({"gauge_mm": float("nan")}, "--gauge: nan: write 0 to 2_000 millimetres"),
        ({"gauge_mm": 2001.0}, "write 0 to 2_000 millimetres"),
        ({"ran": ("Nort line=5",)}, '"Nort line" is no zone; did you mean "North line"?'),
        ({"ran": ("North line=1441",)}, "write 0 to 1_440 minutes of the day"),
        ({"ran": ("North line=5h",)}, 'write minutes, as in "North line=5"; decimals take a point'),
        (
            {"mains": ("120",)},
            '--mains 120: name the store that it ran into: write "Class-room tank=120" or "Shed butt=120"',
        ),
        ({"mains": ("Shed=lots",)}, '--mains Shed=lots: write litres, as in 120 or "TANK=120"'),
        ({"mains": ("Sched=5",)}, '"Sched" is no tank; did you mean "Shed butt"?'),
        ({"mains": ("Shed=9e9",)}, "write litres"),
        ({"mains": ("Shed=1000001",)}, "write 0 to 1_000_000 litres"),
        ({"gauge_mm": 1.0, "day": dt.date(2031, 6, 21)}, "--on: 2031-06-21 lies in the future, today is 2031-06-20"),
        ({"gauge_mm": 1.0, "day": dt.date(31, 6, 20)}, "is before 1700"),
        ({"gauge_mm": 1.0, "note": "a\nb"}, "--note: write it without line breaks"),
        ({"gauge_mm": 1.0, "note": "a" * 201}, "--note: has 201 letters; write at most 200"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(said, line):
    with pytest.raises(InputError) as told:
        entries_of(SITE, LogRequest(**said), TODAY)
    assert line in str(told.value)
    assert "\n" not in str(told.value)


def test_every_fault_is_told_at_once():
    with pytest.raises(InputError) as told:
        entries_of(SITE, LogRequest(("a=1L", "Shed butt=9"), -1.0, ("b=1",), ("c",), dt.date(2032, 1, 1), "\t"), TODAY)
    assert len(told.value.faults) == 7


# ---- In the light of the journal ----


@pytest.fixture
def written(tmp_path):
    path = tmp_path / "journal.csv"
    path.write_text(
        journal(
            [
                (dt.date(2031, 6, 1), "level", "Shed butt", 200, "L"),
                (dt.date(2031, 6, 5), "level", "Class-room tank", 90, "cm"),
                (dt.date(2031, 6, 8), "level", "Shed butt", 180, "L"),
                (dt.date(2031, 6, 9), "undo", "", 3, "line"),
            ]
        )
    )
    return read_journal(path)


def test_a_day_before_the_last_of_its_kind_is_refused(written):
    def on(day, *levels, today=TODAY):
        refuse_earlier(written, entries_of(SITE, LogRequest(levels, day=dt.date(2031, 6, day)), today), today)

    on(1, "Shed butt=150L")  # the same day: it is a better look; line 3 is undone
    on(5, "Class-room tank=88cm")
    with pytest.raises(InputError) as told:
        on(4, "Shed butt=150L", "Class-room tank=88cm")
    assert str(told.value) == (
        "--on: 2031-06-04 lies before the last level of Class-room tank, of 2031-06-05; "
        "log it in order: undo line 2 first (--undo --line 2)"
    )
    refuse_earlier(written, entries_of(SITE, LogRequest(gauge_mm=1.0, day=dt.date(2031, 1, 1)), TODAY), TODAY)
    on(4, "Class-room tank=88cm", today=dt.date(2031, 6, 18))  # of the last fortnight, as it may have waited on a phone
    with pytest.raises(InputError, match="lies before the last level"):
        on(4, "Class-room tank=88cm", today=dt.date(2031, 6, 19))


def test_undoing_takes_the_last_line_that_counts(written):
    assert undoing(written, None, TODAY) == (TODAY, "undo", "", 2.0, "line", "")
    assert undoing(written, 1, TODAY).value == 1.0


@pytest.mark.parametrize(
    ("number", "line"),
    [
        (3, "--line: 3 is undone already, by line 4"),
        (4, "--line: 4 is no line that can be undone; --show lists them, the last is 2"),
        (9, "--line: 9 is no line that can be undone"),
    ],
)
def test_other_lines_cannot_be_undone(written, number, line):
    with pytest.raises(InputError, match=line):
        undoing(written, number, TODAY)


def test_an_empty_journal_has_nothing_to_undo(tmp_path):
    with pytest.raises(InputError, match="holds no line to undo"):
        undoing(read_journal(tmp_path / "journal.csv"), None, TODAY)
