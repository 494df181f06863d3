"""Zones drawn at random, solved by EPANET 2.2 (the engine inside wntr 1.5.0) from an input file written here.

EPANET's emitters suck water in where a jet would be dry, so only the jets that are wet by our solver get one. As a zone
has one answer, that settles the others too: EPANET must find them without pressure. Its g and viscosity are its own
(`zones`).
"""

import numpy as np
import pytest
from line.zones import one_of, random_zones, with_epanets_constants, zone
from wntr.epanet.toolkit import ENepanet
from wntr.epanet.util import EN

from waterbudget.line.solve import solve
from waterbudget.physics.pump import curve_end

M3_H, L_PER_M3 = 3600.0, 1000.0
CLOSE_L_H = 2e-3  # twice the change of flow at which EPANET is told to stop
FITTINGS = 8.0 / (np.pi**2 * 32.2) / 0.02517  # EPANET's own constant of fittings is rounded to 0.02517 (from memory)


def input_file(line, wet):
    """One zone as EPANET reads it, in m3/h, m and mm."""
    jets = line.jet_m.shape[1]
    k_m3_h = line.opening[0] * line.k[0] * M3_H
    hazen_williams = line.hazen_williams_c is not None
    rough = line.hazen_williams_c[0] if hazen_williams else line.roughness_m[0] * 1000.0
    pumped = line.pump.shutoff_m[0] > 0.0
    hose = (line.feed_length_m[0], line.feed_bore_m[0] * 1000.0, rough, line.feed_k[0] * FITTINGS)
    nodes = ["tee", *(f"jet{i}" for i in range(jets)), *(["tee"] if line.ring else [])]
    rows = [
        ["[RESERVOIRS]"],
        ["source", line.source_m[0]],
        ["[JUNCTIONS]"],
        ["tee", line.tee_m[0], 0],
        *([["outlet", 0, 0]] if pumped else []),
        *([f"jet{i}", line.height_m[0, i], 0] for i in range(jets)),
        ["[EMITTERS]"],
        *([f"jet{i}", k_m3_h[i]] for i in np.flatnonzero(wet)),
        ["[PIPES]"],
        ["hose", "outlet" if pumped else "source", "tee", *hose, "CV"],
        *(
            [f"pipe{i}", nodes[i], nodes[i + 1], length_m, line.bore_m[0] * 1000.0, rough, 0, "OPEN"]
            for i, length_m in enumerate(line.segment_m[0])
        ),
        ["[PUMPS]"],
        *([["pump", "source", "outlet", "HEAD", "curve"]] if pumped else []),
        ["[CURVES]"],
        *([["curve", curve_end(line.pump)[0] * M3_H / 2.0, line.pump.shutoff_m[0] * 0.75]] if pumped else []),
        ["[OPTIONS]"],
        ["UNITS", "CMH"],
        ["HEADLOSS", "H-W" if hazen_williams else "D-W"],
        ["TRIALS", 1000],
        ["ACCURACY", 1e-8],
        ["HEADERROR", 1e-6],
        ["FLOWCHANGE", 1e-6],
        ["EMITTER EXPONENT", line.x[0, 0]],
        ["[END]"],
    ]
    return "\n".join(" ".join(part if isinstance(part, str) else f"{part:.17g}" for part in row) for row in rows)


def epanet(line, wet, folder):
    """Flow of the jets [L/h] and their pressures [m]."""
    (folder / "zone.inp").write_text(input_file(line, wet), encoding="ascii")
    engine = ENepanet()
    engine.ENopen(*(str(folder / f"zone.{end}") for end in ("inp", "rpt", "bin")))
    engine.ENopenH()
    engine.ENinitH(0)
    engine.ENrunH()
    nodes = [engine.ENgetnodeindex(f"jet{i}") for i in range(line.jet_m.shape[1])]
    jets = np.array([engine.ENgetnodevalue(node, EN.DEMAND) for node in nodes])
    pressure_m = np.array([engine.ENgetnodevalue(node, EN.PRESSURE) for node in nodes])
    assert not any("unbalanced" in warning for warning in engine.errcodelist)
    engine.ENcloseH()
    engine.ENclose()
    return jets * L_PER_M3, pressure_m


@pytest.mark.parametrize(("ring", "law"), [(True, False), (True, True), (False, False), (False, True)])
def test_random_zones_are_as_epanet_solves_them(ring, law, tmp_path):
    lines = with_epanets_constants(random_zones(100, 2031, ring=ring, hazen_williams=law))
    compared, with_dry_jets = 0, 0
    for i in np.flatnonzero(~solve(lines).flags.no_flow):
        line = one_of(lines, i)
        flow = solve(line)
        wet = flow.jets_m3_s[0] > 0.0
        jets, pressure_m = epanet(line, wet, tmp_path)
        assert np.all(pressure_m[line.is_open[0] & ~wet] <= 1e-6)
        assert np.sum(jets) == pytest.approx(flow.total_l_h[0], rel=1e-5, abs=CLOSE_L_H)
        np.testing.assert_allclose(jets, flow.jets_l_h[0], rtol=1e-5, atol=CLOSE_L_H)
        np.testing.assert_allclose(pressure_m, flow.pressure_m[0], rtol=1e-5, atol=1e-3)
        compared += 1
        with_dry_jets += bool(flow.flags.dry_jets[0])
    assert compared > 80
    assert with_dry_jets > 5


def test_a_braking_pump_is_as_epanet_has_it(tmp_path):
    line = with_epanets_constants(zone(20, 30.0, k_l_h=40.0, bed_m=0.0, pump=(3.0, 300.0), source_m=4.0))
    jets, _ = epanet(line, np.ones(20, dtype=bool), tmp_path)
    np.testing.assert_allclose(jets, solve(line).jets_l_h[0], rtol=1e-5)


def test_the_least_jet_of_a_line_over_its_greatest(tmp_path):
    line = with_epanets_constants(zone(40, ring=False, bed_m=0.5))
    jets, _ = epanet(line, np.ones(40, dtype=bool), tmp_path)
    assert jets.min() / jets.max() == pytest.approx(0.7748, abs=5e-5)
