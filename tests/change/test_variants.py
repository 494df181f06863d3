"""What --with names, in any spelling that is clear; and what is compared with what."""

from pathlib import Path

import pytest

from waterbudget.change.variants import find_compare, read_changes, told
from waterbudget.errors import InputError
from waterbudget.site.override import raw_site

DEMO = Path(__file__).parent.parent.parent / "data_demo"
SITE, OTHER = DEMO / "site.toml", DEMO / "allotment" / "site.toml"


def read(words):
    return read_changes(raw_site(SITE), words)


@pytest.mark.parametrize(
    ("words", "head", "was", "now"),
    [
        ("zone.North line.minutes=3", "zone.North line.minutes", 10, 3),
        ("zone.north.minutes = 3.5", "zone.North line.minutes", 10, 3.5),
        ("zone.NORTH LINE.minutes=3", "zone.North line.minutes", 10, 3),
        ("tank.shed.capacity_l=500", "tank.Shed butt.capacity_l", 350, 500),
        ("tank.shed.loss_l_per_day=2", "tank.Shed butt.loss_l_per_day", None, 2),
        ("zone.south.from=05-15", "zone.South line.from", "05-01", "05-15"),
        ('roof.shed.covering="clay tile"', "roof.Shed roof.covering", "metal sheet", "clay tile"),
        ('zone.north.weekdays=["mon", "thu"]', "zone.North line.weekdays", None, ["mon", "thu"]),
        ("bed.bean.planting.1.days=[1, 2, 3, 4]", "bed.Bean bed.planting.1.days", [20, 30, 50, 20], [1, 2, 3, 4]),
        ("model.adjust_p=FALSE", "model.adjust_p", True, False),
        ("zone.north.jets=drip", "zone.North line.jets", "spray", "drip"),
        ("tank.shed.joined=2", "tank.Shed butt.joined", None, 2),
        ("model.crop_coefficient=dual", "model.crop_coefficient", "single", "dual"),
        ("bed.bean.planting.1.ground_share=0.5", "bed.Bean bed.planting.1.ground_share", None, 0.5),
    ],
)
def test_a_change_is_read(words, head, was, now):
    (change,) = read(words)
    assert (change.head, change.was, change.now) == (head, was, now)


def test_several_go_together():
    assert [told(change) for change in read("zone.north.minutes=3; tank.shed.capacity_l=500")] == [
        "zone.North line.minutes 10 → 3",
        "tank.Shed butt.capacity_l 350 → 500",
    ]


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ("zone.nrth.minutes=3", '"nrth" is no zone; did you mean "North line"?'),
        ("zone.line.minutes=3", '"line" may be "North line" or "South line"'),
        ("zone.xyz.minutes=3", '"xyz" is no zone; there is "North line", "South line"'),
        ("zone.north.minuts=3", '"minuts" is no key of zone.North line; did you mean "minutes"?'),
        ("zon.north.minutes=3", '"zon" is no kind of table; did you mean "zone"?'),
        (
            "qqq.north.minutes=3",
            '"qqq" is no kind of table; there are roof, tank, inflow, transfer, ban, zone, draw, bed, model, prices',
        ),
        ("model.kcbare=0.2", '"kcbare" is no key of model; did you mean "kc_bare"?'),
        ("zone.minutes=3", "names no zone or no key"),
        ("zone.north.minutes", "is no change; write KIND.NAME.KEY=VALUE"),
        ("zone.north.minutes=", "is no change; write KIND.NAME.KEY=VALUE"),
        ("", "is no change; write KIND.NAME.KEY=VALUE"),
        ("weather.file=a.csv", "place and weather in common"),
        ("site.name=Elsewhere", "place and weather in common"),
    ],
)
def test_what_cannot_be_read_names_the_nearest(words, fault):
    with pytest.raises(InputError) as told_fault:
        read(words)
    (line,) = told_fault.value.faults
    assert line.startswith("--with: ")
    assert fault in line


def test_a_changed_site_has_the_checks_of_a_site_file():
    with pytest.raises(InputError) as told_fault:
        find_compare(
            [SITE], ["zone.north.minutes=-1", "tank.shed.capacity_l=100", "zone.north.tank=Shed bucket", "x=1"]
        )
    assert set(told_fault.value.faults) == {
        "--with: zone.North line.minutes: is -1; write a number from 0 up (minutes of one run)",
        "--with: tank.Shed butt.start_l: is 260; write at most capacity_l, 100",
        '--with: zone.North line.tank: is "Shed bucket", but no tank has that name; write "Shed butt"',
        (
            '--with: x: "x" is no kind of table; '
            "there are roof, tank, inflow, transfer, ban, zone, draw, bed, model, prices"
        ),
    }


def test_the_present_plan_is_always_among_them():
    compared = find_compare([SITE, OTHER], ["zone.north.minutes=3", "tank.shed.capacity_l=500"])
    assert [(one.letter, one.name) for one in compared.variants] == [
        ("A", "as it is"),
        ("B", "zone.North line.minutes 10 → 3"),
        ("C", "tank.Shed butt.capacity_l 350 → 500"),
        ("D", "all of these changes"),
        ("E", "Allotment with one butt"),
    ]
    present, less, larger, together, other = (one.site for one in compared.variants)
    assert present == compared.opened.site
    assert (less.zone[0].minutes, larger.zone[0].minutes, together.zone[0].minutes) == (3, 10, 3)
    assert (less.tank[1].capacity_l, larger.tank[1].capacity_l, together.tank[1].capacity_l) == (350, 500, 500)
    assert other.site.name == "Allotment with one butt"
    assert len({one.outcome.dates for one in compared.variants}) == 1, "all on the weather of the first"


def test_changes_of_one_key_are_not_put_together():
    compared = find_compare([SITE], ["zone.north.minutes=3", "zone.north.minutes=5"])
    assert [one.letter for one in compared.variants] == ["A", "B", "C"]


def test_nothing_and_too_much_are_refused():
    with pytest.raises(InputError, match=r'nothing to compare with; add --with "zone.North line.minutes=3"'):
        find_compare([SITE], [])
    with pytest.raises(InputError, match="8 plans, the present one among them, are too many"):
        find_compare([SITE], [f"zone.north.minutes={minutes}" for minutes in range(7)])
