"""Names that try to become something else, and readers that tell whether they did."""

from html.parser import HTMLParser
from xml.etree import ElementTree

NAMES = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "$x$ ]]> <!-- -->",
    "a\u202eb\u2066c\u200f \u05e9\u05dc\u05d5\u05dd",
    "bell\x07 nul\x00 esc\x1b[31m",
    "W" * 60,
    '=HYPERLINK("http://x")',
    "{{ 7 * 7 }}{% raw %}",
    "</style></svg></title><b onclick='x'>",
    "../../etc/passwd",
)
VOID = {"meta", "img"}
SVG = "{http://www.w3.org/2000/svg}"
DRAWN = {"svg", "title", "desc", "g", "rect", "path", "circle", "text"}
HIDDEN = ("\u202e", "\u2066", "\u200f", "\x07", "\x00", "\x1b")


class Elements(HTMLParser):
    """Collects the elements, attributes and texts of a page."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.texts, self.policy = [], [], [], ""
        self.open, self.crossed = [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if ("http-equiv", "Content-Security-Policy") in attrs:
            self.policy = dict(attrs)["content"]

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data):
        self.texts.append(data)

    @property
    def text(self):
        return "".join(self.texts)


def svg_tree(svg):
    """Parse a drawing; only what we draw with may be in it."""
    root = ElementTree.fromstring(svg)
    found = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert found <= DRAWN
    handlers = [name for e in root.iter() for name in e.attrib if name.startswith(("on", "href"))]
    assert not handlers
    return root


def texts_of(root):
    """Texts that are seen, in order."""
    return ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]
