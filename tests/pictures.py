"""What a picture keeps to whose ticks are all set by hand."""

from itertools import combinations

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text


def assert_words_stand_apart(figure):
    """No words of a figure leave it, or meet others."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    shown = [text for text in figure.findobj(Text) if text.get_text().strip() and text.get_visible()]
    boxes = {text: text.get_window_extent(renderer) for text in shown}
    width, height = figure.bbox.size
    for text, box in boxes.items():
        assert min(box.x0, box.y0) >= 0.0, text
        assert box.x1 <= width, text
        assert box.y1 <= height, text
    for (one, box), (other, theirs) in combinations(boxes.items(), 2):
        assert not box.overlaps(theirs), (one, other)
