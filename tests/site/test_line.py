"""Keys of a watering line, its pump and battery, and the lines that tell their faults."""

import pytest
from hose import garden, site_of

from waterbudget.errors import SiteError
from waterbudget.site.read import load_site

PUMP = r"^shutoff_m = .*\ngreatest_l_h = .*"


def test_the_demo_reads(tmp_path):
    site = site_of(tmp_path)
    line = site.zone[0].hose
    assert site.zone[0].flow_l_min is None
    assert (line.ring, line.bore_mm, line.feed_bore_mm, line.pumped) == (True, 13.0, None, True)
    assert [(jets.bed, jets.count) for jets in line.jets] == [
        ("Tomato bed", 9), ("Bean bed", 9), ("Salad bed", 9), ("Carrot bed", 9)
    ]  # fmt: skip
    assert site.zone[1].hose is None


def test_a_packet_tells_the_flow_at_one_bar(tmp_path):
    jets = site_of(tmp_path, (r"^k_l_h = 3  .*", "l_h_at_1_bar = 10")).zone[0].hose.jets[0]
    assert jets.k == pytest.approx(10 / 10.197**0.5, rel=1e-12)  # 1 bar is 10.197 m of water of 1000 kg/m3


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (("^bore_mm = 13 ", "bore_mm = [13, 16] "),
         "zone[1].line[1].bore_mm: is [13, 16]; write a number (inner bore of the pipe, one for all of it, mm)"),
        (("^bore_mm = 13 ", "bore_mm = 0 "),
         "zone[1].line[1].bore_mm: is 0; write a number above 0 (inner bore of the pipe, one for all of it, mm)"),
        ((r"^bed = \"Bean bed\"\ncount = 9", 'bed = "Bean bed"\ncount = 0'),
         "zone[1].line[1].jets[2].count: is 0; write a number from 1 up (number of jets)"),
        (("^k_l_h = 3  ", "opening = 1.5\nk_l_h = 3  "),
         "zone[1].line[1].jets[1].opening: is 1.5; write a number up to 1 (how far they are open, 0 shut to 1)"),
        (("^k_l_h = 3  .*", ""),
         ("zone[1].line[1].jets[1].l_h_at_1_bar: is missing; "
          "add the jet's flow at 1 bar in L/h, as its packet tells, or k_l_h")),
        (("^k_l_h = 3  ", "l_h_at_1_bar = 9\nk_l_h = 3  "),
         "zone[1].line[1].jets[1].l_h_at_1_bar: is 9; k_l_h is given too; leave out one of the two"),
        (('^bed = "Bean bed"', 'bed = "Been bed"'),
         'zone[1].line[1].jets[2].bed: is "Been bed", no bed of this zone; write "Bean bed"'),
        (('^bed = "Bean bed"', 'bed = "Potato bed"'),
         'zone[1].line[1].jets[2].bed: is "Potato bed", no bed of this zone; write "Tomato bed"'),
        ((r"^\[\[zone.line\]\]", "[zone.line]"),
         "zone[1].line: stands in single brackets; write its head as [[zone.line]]"),
        ((r"^\[\[zone.line\]\]",
          ("[[zone.line]]\nring = true\nbore_mm = 16\nlength_m = 9\nrise_m = 0\n"
           '[[zone.line.jets]]\nbed = "Bean bed"\ncount = 2\nk_l_h = 3\n[[zone.line]]')),
         "zone[1].line: has 2 tables; a valve feeds one pipe, of one bore: give each pipe a [[zone]] of its own"),
        (("^shape.*\ninner_diameter_m.*\ninner_height_m.*", ""),
         ("tank[1].inner_height_m: is missing; "
          "the flow of a [[zone.line]] hangs on the level; add the height from floor to overflow in metres")),
        ((r"^\[\[zone.line\]\][^\0]*?\n\[\[zone\]\]", "[[zone]]"),
         "zone[1].flow_l_min: is missing; add flow_l_min = … (flow of the open valve, L/min)"),
        (("^greatest_l_h.*", ""),
         "pump.greatest_l_h: is missing; shutoff_m and greatest_l_h go together; give both, or points"),
        ((PUMP, ""),
         "pump.points: is missing; add shutoff_m and greatest_l_h from the nameplate, or points of the curve"),
        ((PUMP, "points = [[0, 5], [300, 6], [500, 2]]"),
         ("pump.points: is [[0, 5], [300, 6], [500, 2]]; a pump's head must fall from point to point as its flow grows,"
          " and not below 0: 5 m, 6 m, 2 m; read the curve again")),
        ((PUMP, "points = [[100, 5], [300, 3]]"),
         ("pump.points: is [[100, 5], [300, 3]]; "
          "the first of several points is the head at no flow; begin with [0, head]")),
        ((PUMP, "points = [[0, 5]]"),
         "pump.points: is [[0, 5]]; a single point needs a flow and a head above 0"),
        ((PUMP, "points = [[0, 5, 6]]"),
         ("pump.points: is [[0, 5, 6]]; "
          "write one to three points, [[0, 20], [600, 15], [1000, 8]], each a flow in L/h and a head")),
        ((r"^shutoff_m", "points = [[300, 5]]\nshutoff_m"),
         "pump.points: is [[300, 5]]; shutoff_m is given too; leave out one of the two"),
        ((r"^\[pump\][^[]*", ""),
         "battery: has no pump to drive; add a [pump], or leave the battery out"),
    ],
)  # fmt: skip
def test_a_fault_is_one_clear_line(tmp_path, change, fault):
    path = garden(tmp_path, change)
    with pytest.raises(SiteError) as told:
        load_site(path)
    assert told.value.faults == (f"{path}: {fault}",)


def test_a_line_at_fault_does_not_make_the_flow_missing(tmp_path):
    with pytest.raises(SiteError) as told:
        site_of(tmp_path, ("^length_m = 32", "length_m = -1"))
    (fault,) = told.value.faults
    assert "length_m" in fault


def test_an_unknown_key_of_a_line_is_refused(tmp_path):
    with pytest.raises(SiteError, match=r"zone\[1\].line\[1\].borehole: unknown key"):
        site_of(tmp_path, ("^ring = true", "borehole = 3\nring = true"))
