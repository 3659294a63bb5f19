"""Reading a page back: what stands in it, with the standard library alone."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "img", "input", "link", "use", "path", "rect", "circle", "line"}


@dataclass
class Page(HTMLParser):
    """The elements of a page: names with attributes, text, and whether all were closed."""

    tags: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    headings: list[int] = field(default_factory=list)
    unclosed: list[str] = field(default_factory=list)
    wrongly_closed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.unclosed.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if not self.unclosed or self.unclosed.pop() != tag:
            self.wrongly_closed.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    @property
    def text(self) -> str:
        """All text of the page, blanks collapsed."""
        return " ".join(" ".join(self.texts).split())

    def all(self, name: str) -> list[dict[str, str]]:
        """Return the attributes of every element of one name."""
        return [attributes for tag, attributes in self.tags if tag == name]

    def count(self, name: str) -> int:
        """Return how many elements have a name."""
        return Counter(tag for tag, _ in self.tags)[name]


def parsed(text: str) -> Page:
    """Return a page as its elements."""
    page = Page()
    page.feed(text)
    page.close()
    return page
