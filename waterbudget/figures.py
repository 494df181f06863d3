"""The pictures of the package, each a function that draws and returns the axes, for notebooks and pages of your own.

from waterbudget import figures

axes = figures.level(result)
axes[0].figure.savefig("level.png")

level, balance and bed draw a run, batch what find_batch found; odds, rules, sizes, hotspell, compare, improve, today,
line, minutes and fit draw the findings of find_odds, find_size, find_hotspell, find_compare, find_improve, find_today,
find_line, find_minutes and find_fit; for rules find_odds is asked with with_rules=True. Each makes a figure of its own,
with room for every word, unless it is given ax: axes to draw in, as many as the picture has panels, in the order from
top to bottom and left to right, or a single one where it has one. Then it draws in these alone and leaves their figure
as it is. What it returns are the axes drawn in, an array; balance, which always has one panel, returns that one by
itself. Raises InputError where the axes are too few or too many. figure_bytes makes a file of a figure, always the same
bytes.
"""

from waterbudget.render.figures.balance import balance
from waterbudget.render.figures.batch import batch
from waterbudget.render.figures.bed import bed
from waterbudget.render.figures.compare import compare
from waterbudget.render.figures.fit import fit
from waterbudget.render.figures.hotspell import hotspell
from waterbudget.render.figures.improve import improve
from waterbudget.render.figures.level import level
from waterbudget.render.figures.line import line
from waterbudget.render.figures.minutes import minutes
from waterbudget.render.figures.odds import odds
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.render.figures.rules import rules
from waterbudget.render.figures.sizes import sizes
from waterbudget.render.figures.today import today

__all__ = [
    "balance",
    "batch",
    "bed",
    "compare",
    "figure_bytes",
    "fit",
    "hotspell",
    "improve",
    "level",
    "line",
    "minutes",
    "odds",
    "rules",
    "sizes",
    "today",
]
