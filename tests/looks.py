"""What is looked for on a page: what readers who do not see it miss, what thumbs miss, what does not fit."""

from axe_playwright_python.base import AXE_FILE_PATH
from serving import DESK, NARROW, PHONE, WIDER

AXE = AXE_FILE_PATH.read_text("utf-8")
SERIOUS = """async (only) => (await axe.run(document, only ? { runOnly: only } : {})).violations
  .filter(one => ["serious", "critical"].includes(one.impact))
  .map(one => [one.id, one.nodes.map(node => node.html.slice(0, 120))])"""
SMALL = """() => [...document.querySelectorAll("main :is(a, button, input, select, summary), nav a")].filter(one => {
  const box = one.getBoundingClientRect();
  if (!box.width || one.matches("p a:not(.button), [type=radio], [type=checkbox], [type=range]")) return false;
  return box.width < 43.5 || box.height < 43.5;
}).map(one => one.outerHTML)"""


def serious(tab, only=()):
    """What axe finds to be serious or critical: its name, and where. only: rules, by default all."""
    return tab.evaluate(SERIOUS, list(only) or None)


def looked_at(tab, within="main"):
    """What is wrong with a page in every size, light and dark, by name. within: where controls may be too small."""
    wrong = []
    tab.evaluate(AXE)
    for width, height in (PHONE, DESK, NARROW):
        tab.set_viewport_size({"width": width, "height": height})
        found = {
            "axe": serious(tab),
            "small": tab.evaluate(SMALL.replace("main", within, 1)),
            "wide": tab.evaluate(WIDER),
        }
        tab.emulate_media(color_scheme="dark")  # other colours, and nothing else
        found["dark"] = serious(tab, ["color-contrast"])
        tab.emulate_media(color_scheme="light")
        wrong += [(width, name, what) for name, what in found.items() if what]
    return wrong
