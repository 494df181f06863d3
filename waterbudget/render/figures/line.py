"""The picture along the hose: the flow of each jet and the pressure at it, from the tee to the end."""

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import shortened
from waterbudget.answers.line import laid
from waterbudget.hose.line import LineFinding, evenness
from waterbudget.render.figures.panels import (
    ALERT,
    DASHES,
    FAINT,
    INK,
    SMALL_PT,
    TITLE_PT,
    USE,
    WATER,
    Given,
    Panels,
    draw_beside,
    draw_head,
    draw_legend,
    draw_plain,
    panels,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FLOW_IN, PRESSURE_IN = 3.6, 2.9  # a panel with its head
HEADROOM = 1.18  # top of an axis, in the largest value; the beds' names stand there
BAR = 0.7  # width of a bar, in jet spacings
SHADED = 0.16
LETTERS_ACROSS = 56  # that the names of the beds may take in all


def line(findings: LineFinding, ax: Given = None) -> Panels:
    """Flow of each jet as a bar, and the pressure along the hose beside that of the hose laid the other way.

    findings: of find_line. ax: axes to draw in, one for the flow and one for the pressure; without it a new figure is
    made. Returns these axes. Raises InputError where the axes are too few or too many.
    """
    with panels([FLOW_IN, PRESSURE_IN], ax, "for the flow and the pressure") as axes:
        flow, pressure = axes
        _draw_flow(flow, findings)
        _draw_pressure(pressure, findings)
        for panel in axes:
            _draw_beds(panel, findings, named=panel is flow)
            panel.set_xlim(0.0, findings.line.length_m)
            draw_plain(panel)
        flow.tick_params(labelbottom=False)
        end = "round to it again" if findings.line.ring else "to its end"
        pressure.set_xlabel(f"Along the hose from the tee {end} (m)", color=INK)
    return axes


def _draw_flow(panel: "Axes", findings: LineFinding) -> None:
    jets = findings.jets
    spacing_m = findings.line.length_m / (len(jets) + findings.line.ring)
    along_m, flow_l_h = [jet.along_m for jet in jets], [jet.flow_l_h for jet in jets]
    panel.bar(along_m, flow_l_h, width=BAR * spacing_m, color=WATER, label="Flow of a jet (L/h)")
    dry_m = [jet.along_m for jet in jets if jet.is_open and jet.flow_l_h <= 0.0]
    if dry_m:
        panel.plot(dry_m, np.zeros(len(dry_m)), "x", ms=7.0, mew=2.0, color=ALERT, clip_on=False, label="Dry")
    panel.set_ylim(0.0, max(*flow_l_h, 1e-9) * HEADROOM if max(flow_l_h) > 0.0 else 1.0)
    panel.set_ylabel("Flow of a jet\n(L/h)", color=INK)
    draw_head(panel, title(findings), TITLE_PT, _facts(findings))


def title(findings: LineFinding) -> str:
    """The verdict in a few words."""
    if findings.flow_l_min <= 0.0:
        return f"{findings.zone.name}: nothing comes out"
    jets, wet = findings.hose.line.is_open.sum(), (findings.jets_l_h > 0.0).sum()
    of = f"{jets} jets" if wet == jets else f"{wet} of {jets} jets"
    return f"{findings.zone.name}: {findings.flow_l_min:.1f} L/min from {of}"


def _facts(findings: LineFinding) -> list[str]:
    level = f"With {findings.level_l:,.0f} L in {findings.tank.name}"
    if findings.flow_l_min <= 0.0:
        return [level]
    dry, wet = findings.driest, findings.wettest
    even = evenness(findings.hose, findings.line)
    return [
        level,
        f"Driest jet {dry.flow_l_h:.1f} L/h, wettest {wet.flow_l_h:.1f} L/h; DU {even.du_pct:.0f} %",
    ]


def _draw_pressure(panel: "Axes", findings: LineFinding) -> None:
    along_m, here_m = findings.hose.line.jet_m[0], findings.pressure_m
    other, other_m = findings.other.line.jet_m[0], findings.other.flow.pressure_m[0]
    panel.plot(
        along_m, here_m, "o-", ms=4.0, linewidth=1.8, color=WATER, label=f"{laid(ring=findings.line.ring)}, as it is"
    )
    dashed = f"as a {laid(ring=not findings.line.ring)}"
    panel.plot(other, other_m, linestyle=DASHES, linewidth=1.8, color=USE, label=dashed)
    working_m = findings.line.working_m
    panel.axhline(working_m, color=INK, linewidth=1.0, linestyle=(0, (1, 2)))
    draw_beside(panel, f"working\n{working_m:g} m", working_m, "center")
    low_m, high_m = min(0.0, here_m.min(), other_m.min()), max(working_m, here_m.max(), other_m.max())
    margin_m = (high_m - low_m) * (HEADROOM - 1.0) / 2.0
    panel.set_ylim(low_m - margin_m if low_m < 0.0 else 0.0, high_m + margin_m)
    panel.set_ylabel("Pressure\n(m of water)", color=INK)
    draw_legend(panel)


def _draw_beds(panel: "Axes", findings: LineFinding, *, named: bool) -> None:
    """Shade every second bed's stretch of the hose, and write the names over them."""
    half_m = findings.line.length_m / (len(findings.jets_l_h) + findings.line.ring) / 2.0
    for number, (name, jets) in enumerate(groupby(findings.jets, lambda jet: jet.bed)):
        stretch_m = [jet.along_m for jet in jets]
        start_m, end_m = stretch_m[0] - half_m, stretch_m[-1] + half_m
        if number % 2 == 0:
            panel.axvspan(start_m, end_m, color=FAINT, alpha=SHADED, linewidth=0, zorder=0)
        if named:
            letters = max(2, int(LETTERS_ACROSS * (end_m - start_m) / findings.line.length_m))
            panel.annotate(
                shortened(name, letters),
                ((start_m + end_m) / 2.0, 1.0),
                (0, -4),
                panel.get_xaxis_transform(),
                "offset points",
                ha="center",
                va="top",
                fontsize=SMALL_PT,
                color=INK,
                in_layout=False,
            )
