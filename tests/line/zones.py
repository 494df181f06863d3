"""Watering zones for the tests: the table of solved cases, and random ones in the range that the solver promises."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np

from waterbudget.line.layout import L_H_PER_M3_S, even_jets, lay_line
from waterbudget.physics.pump import NO_PUMP, Pump, pump_from_nameplate

TABLE = Path(__file__).with_name("wntr_cases.csv")
EPANET_G, EPANET_NU = 9.81456, 1.02193e-06  # 32.2 ft/s2 and 1.1e-5 ft2/s, EPANET's own constants


def cases():
    with TABLE.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(line for line in handle if not line.startswith("#")))


def with_epanets_constants(line):
    return replace(line, g_m_s2=np.full_like(line.g_m_s2, EPANET_G), nu_m2_s=np.full_like(line.nu_m2_s, EPANET_NU))


def zone(
    jets,
    length_m=40.0,
    bore_mm=13.0,
    *,
    ring=True,
    k_l_h=8.0,
    bed_m=1.0,
    far_m=None,
    pump=(20.0, 2000.0),
    opening=1.0,
    **rest,
):
    """One zone of even jets; pump by its shutoff head [m] and greatest flow [L/h], None for none."""
    places = even_jets(jets, length_m, ring=ring, tee_m=bed_m, far_m=far_m)
    curve = NO_PUMP if pump is None else pump_from_nameplate(np.array([pump[0]]), np.array([pump[1]]) / L_H_PER_M3_S)
    return lay_line(
        ring=ring,
        length_m=length_m,
        bore_mm=bore_mm,
        jet_m=places.jet_m,
        height_m=places.height_m,
        opening=places.there * opening,
        k_l_h=k_l_h,
        tee_m=bed_m,
        pump=curve,
        **rest,
    )


def one_of(line, i):
    """One scenario by itself, without the places that only stand in for the jets of others."""
    alone = line.take([i])
    _, places = np.unique(alone.jet_m[0], return_index=True)
    per_jet = ("jet_m", "height_m", "k", "x", "opening", "barb_m")
    return replace(alone, **{name: getattr(alone, name)[:, places] for name in per_jet})


def case_zone(row):
    """A row of the table, with the constants that it was solved with."""
    words = ("case", "topology", "opening", "headloss", "oracle")
    number = {name: float(value) for name, value in row.items() if name not in words}
    jets = int(row["n_jets"])
    opening = np.ones(jets)
    if row["opening"].startswith("alt"):
        opening[1::2] = float(row["opening"].removeprefix("alt"))
    else:
        assert row["opening"] == "all"
    line = zone(
        jets,
        number["length_m"],
        number["bore_mm"],
        ring=row["topology"] == "loop",
        k_l_h=number["k_lph"],
        bed_m=number["z_tee_m"],
        far_m=number["z_far_m"],
        pump=(number["pump_h0_m"], number["pump_qmax_lph"]) if number["pump_h0_m"] else None,
        opening=opening,
        x=number["x"],
        source_m=number["source_level_m"],
        feed_length_m=number["feed_len_m"],
        feed_bore_mm=number["feed_bore_mm"],
        feed_k=number["feed_k"],
        **({"roughness_mm": number["rough"]} if row["headloss"] == "DW" else {"hazen_williams_c": number["rough"]}),
    )
    return replace(line, g_m_s2=np.array([number["g_m_s2"]]), nu_m2_s=np.array([number["nu_m2_s"]]))


def random_zones(number, seed, *, ring, hazen_williams=False):
    """Zones all over the promised range: pumps and gravity, flat and sloping beds, throttled and shut jets."""
    draw = np.random.default_rng(seed)
    jets, length_m = draw.integers(1, 61, number), draw.uniform(10.0, 60.0, number)
    tee_m = draw.uniform(-1.0, 2.0, number)
    slope_m = draw.choice([0.0, 1.0], number) * draw.uniform(-3.0, 6.0, number)
    places = even_jets(jets, length_m, ring=ring, tee_m=tee_m, far_m=tee_m + slope_m)
    throttled = draw.choice([0.0, 0.2, 0.5, 1.0], places.jet_m.shape)
    as_set = np.where(draw.random((number, 1)) < 0.5, 1.0, throttled)
    shutoff_m = draw.uniform(0.5, 35.0, number) * (draw.random(number) < 0.8)
    greatest = draw.uniform(200.0, 4000.0, number) / L_H_PER_M3_S
    return lay_line(
        ring=ring,
        length_m=length_m,
        bore_mm=draw.uniform(10.0, 20.0, number),
        jet_m=places.jet_m,
        height_m=places.height_m,
        opening=places.there * as_set,
        k_l_h=draw.uniform(1.0, 30.0, (number, 1)),
        x=draw.uniform(0.4, 0.7, (number, 1)),
        tee_m=tee_m,
        source_m=draw.uniform(-1.0, 2.0, number),
        feed_length_m=draw.uniform(1.0, 20.0, number),
        feed_bore_mm=draw.uniform(10.0, 20.0, number),
        feed_k=draw.uniform(0.0, 10.0, number),
        pump=Pump(shutoff_m, shutoff_m / greatest**2, np.full(number, 2.0)),
        roughness_mm=draw.choice([0.0015, 0.01, 0.1], number),
        hazen_williams_c=draw.uniform(130.0, 150.0, number) if hazen_williams else None,
        water_c=draw.uniform(5.0, 35.0, number),
    )
