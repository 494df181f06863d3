"""The picture of a fit draws what was measured and modelled."""

import numpy as np
import pytest
from journal.invented import DEMO

from waterbudget.errors import OutputError
from waterbudget.questions import find_fit


@pytest.fixture(scope="module")
def demo():
    return find_fit(DEMO / "site.toml")


def test_the_picture_draws_what_was_measured_and_modelled(demo):
    fitted = demo.finding
    rain, store = demo.plot()
    lines = {line.get_label(): line for line in store.get_lines()}
    np.testing.assert_allclose(lines["fits best"].get_ydata(), fitted.fitted_l[:, 0])
    np.testing.assert_allclose(lines["site file"].get_ydata(), fitted.now_l[:, 0])
    measured = lines["measured"]
    np.testing.assert_allclose(measured.get_ydata(), [row.measured_l for row in fitted.compared])
    # a level is that of the evening: the points lie on the line where the model is right
    on_line = np.interp(measured.get_xdata(), lines["fits best"].get_xdata(), lines["fits best"].get_ydata())
    np.testing.assert_allclose(on_line, [row.fitted_l for row in fitted.compared])
    assert store.get_title(loc="left") == "Class-room tank"
    assert lines["site file"].get_linestyle() != lines["fits best"].get_linestyle()  # told apart without colour
    assert rain.get_xlim() == store.get_xlim()


def test_the_picture_is_a_file_of_its_kind(demo):
    assert demo.picture(".png").startswith(b"\x89PNG")
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        demo.picture(".gif")
