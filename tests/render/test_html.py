"""An answer as a section of a page: every word is there, and nothing of a name gets out as markup."""

from html.parser import HTMLParser

from waterbudget.blocks import Answer, Bullets, Column, Paragraph, Picture, Table
from waterbudget.render.html import section

NAME = '<b>"Butt" & Co</b>'
SHOWN = Answer(
    "fit",
    f"{NAME}, a summer",
    ("It lasts 12 days.",),
    (
        Table(
            "Stores",
            (Column("tank", "Store"), Column("level_l", "Level", "L", write="{:.0f}".format)),
            (("ALL",), (NAME, 3.6), ("Tank", None)),
            ("Rounded.",),
        ),
        Bullets("help", "What would help", (f"Dip {NAME}.",)),
        Bullets("caution", "Take care", ("Slippery.",)),
        Bullets("paste", "Write:", ("a = 1", "b = 2")),
        Bullets("warn", "Beware", ()),
        Picture("fit", "Levels"),
        Picture("other", "Nothing draws it"),
        Paragraph("Next."),
    ),
    {},
)


class Words(HTMLParser):
    """The words and elements of a page; a void element needs no end."""

    def __init__(self, page):
        super().__init__()
        self.words, self.elements, self.open = [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag != "img":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words += [data.strip()] if data.strip() else []


def test_all_of_it_is_there_and_names_stay_names():
    read = Words(section(SHOWN, {"fit": lambda: b"<svg/>"}))
    assert read.open == []
    for words in (f"{NAME}, a summer", NAME, "ALL", "4", "–", "Level (L)", f"Dip {NAME}.", "Slippery.", "a = 1\nb = 2"):
        assert words in read.words
    assert "Beware" not in read.words
    assert [attrs["alt"] for tag, attrs in read.elements if tag == "img"] == ["Levels"]
    assert [attrs["src"] for tag, attrs in read.elements if tag == "img"] == ["data:image/svg+xml;base64,PHN2Zy8+"]
    assert "12\N{NO-BREAK SPACE}days" in " ".join(read.words)


def test_what_the_page_has_elsewhere_is_left_out():
    assert "Slippery." not in section(SHOWN, {}, without=("caution",))
    assert "<img" not in section(SHOWN, {})
