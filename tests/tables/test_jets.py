import pytest

from waterbudget.site.zones import Zone
from waterbudget.tables.jets import every_jets, find_jets
from waterbudget.tables.read import UnknownKeyError, read_rows

# FAO-56 Table 20, p. 149, as printed
WETTED = {
    "Precipitation": (1.0, 1.0),
    "Sprinkler irrigation": (1.0, 1.0),
    "Basin irrigation": (1.0, 1.0),
    "Border irrigation": (1.0, 1.0),
    "Furrow irrigation, every furrow, narrow bed": (0.6, 1.0),
    "Furrow irrigation, every furrow, wide bed": (0.4, 0.6),
    "Furrow irrigation, alternate furrows": (0.3, 0.5),
    "Trickle (drip) irrigation": (0.3, 0.4),
}


def test_the_wetted_fractions_are_those_of_the_print():
    assert {row["wetting_event"]: (float(row["fw_lo"]), float(row["fw_hi"])) for row in read_rows("wetting")} == WETTED


@pytest.mark.parametrize(
    ("kind", "efficiency", "event"),
    [
        ("mist", 0.70, "Sprinkler irrigation"),  # common practice, no source
        ("spray", 0.80, "Sprinkler irrigation"),  # planning figure of an irrigation supplier's glossary
        ("drip", 0.90, "Trickle (drip) irrigation"),  # "up to 90 %": tip page of the Coachella Valley water agencies
        ("can", 0.90, "Furrow irrigation, every furrow, wide bed"),  # common practice, no source
    ],
)
def test_each_kind_of_jets(kind, efficiency, event):
    jets = find_jets(kind)
    assert (jets.efficiency, jets.wetted_low, jets.wetted_high) == (efficiency, *WETTED[event])
    assert jets.wetted_fraction == pytest.approx(sum(WETTED[event]) / 2)
    assert jets.source.endswith(f"; wetted fraction: FAO-56 Table 20, p. 149, {event}")


def test_a_zone_may_name_every_kind_and_no_other():
    for jets in every_jets():
        zone = Zone(name="Line", tank="Butt", flow_l_min=3, minutes=5, jets=f" {jets.name.upper()}s ")
        assert (zone.jets, zone.applied, zone.wetted) == (jets.name, jets.efficiency, jets.wetted_fraction)
    with pytest.raises(UnknownKeyError, match='unknown kind of jets "fog"'):
        find_jets("fog")
