"""The picture along the hose: what it draws is what the solver found, and its words stay within it."""

import numpy as np
import pytest
from hose import BY_GRAVITY, garden

from waterbudget.errors import OutputError
from waterbudget.hose.line import find_line
from waterbudget.render.figures.line import line
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.simulate.opened import open_site

HIGH = (r"^bed = \"Carrot bed\"\ncount", 'bed = "Carrot bed"\nrise_m = 20\ncount')


def found(folder, *changes, level_l=None):
    return find_line(open_site(garden(folder, *changes)), None, level_l)


@pytest.mark.parametrize("changes", [(), (("^ring = true", "ring = false"),)])
def test_bars_and_lines_are_flows_and_pressures(tmp_path, changes):
    findings = found(tmp_path, *changes)
    flow, pressure = line(findings)
    bars = [bar for bar in flow.patches if bar.get_height() > 1.5]
    np.testing.assert_allclose([bar.get_height() for bar in bars], findings.jets_l_h)
    np.testing.assert_allclose([bar.get_x() + bar.get_width() / 2 for bar in bars], findings.hose.line.jet_m[0])
    here, other = (drawn.get_ydata() for drawn in pressure.lines[:2])
    np.testing.assert_allclose(here, findings.pressure_m)
    np.testing.assert_allclose(other, findings.other.flow.pressure_m[0])
    names = [text.get_text() for text in pressure.get_legend().get_texts()]
    assert names == (["dead end, as it is", "as a ring"] if changes else ["ring, as it is", "as a dead end"])
    assert pressure.lines[2].get_ydata()[0] == 5.0


def test_dry_jets_are_marked(tmp_path):
    findings = found(tmp_path, HIGH)
    flow, _ = line(findings)
    (dry,) = flow.lines
    np.testing.assert_allclose(dry.get_xdata(), findings.hose.line.jet_m[0][27:])
    assert flow.get_title(loc="left").endswith("from 27 of 36 jets")


def test_nothing_flows(tmp_path):
    findings = found(tmp_path, *BY_GRAVITY, level_l=0.0)
    flow, _ = line(findings)
    assert flow.get_title(loc="left") == "North line: nothing comes out"
    assert len(flow.lines[0].get_xdata()) == 36


@pytest.mark.parametrize("changes", [(), BY_GRAVITY, (HIGH,)])
def test_the_words_stay_within_the_picture_and_apart(tmp_path, changes):
    figure = line(found(tmp_path, *changes, level_l=1500.0))[0].figure
    figure.draw_without_rendering()
    edge = figure.bbox
    flow, pressure = figure.axes
    assert flow.bbox.height > 150
    assert pressure.bbox.height > 120
    texts = [text for panel in figure.axes for text in panel.texts if text.get_text()]
    boxes = [text.get_window_extent() for text in texts]
    for box in boxes:
        assert edge.x0 <= box.x0 < box.x1 <= edge.x1
        assert edge.y0 <= box.y0 < box.y1 <= edge.y1
    for number, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[number + 1 :])


def test_long_names_of_many_beds_are_cut(tmp_path):
    findings = found(tmp_path, ('"Bean bed"', '"Bed of beans, runner beans and other beans"'))
    texts = [text.get_text() for text in line(findings)[0].texts]
    assert any(text.startswith("Bed of") and text.endswith("…") for text in texts)


def test_the_file_is_the_same_each_time(tmp_path):
    findings = found(tmp_path)
    assert figure_bytes(line(findings)[0].figure, ".svg") == figure_bytes(line(findings)[0].figure, ".svg")
    assert figure_bytes(line(findings)[0].figure, ".png").startswith(b"\x89PNG")
    with pytest.raises(OutputError, match="no kind of picture"):
        figure_bytes(line(findings)[0].figure, ".gif")
