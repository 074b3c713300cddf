"""A test client that inspects every page it fetches: a fault of the page is a failure of the test that met it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cached_property, lru_cache
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any
from urllib.parse import urlsplit

from flask import Flask
from werkzeug.test import TestResponse

ORIGIN = "http://localhost"
# The last four as the SVG of our pages writes them, closed in themselves.
VOID = frozenset(
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
    | {"circle", "path", "rect", "polygon"}
)
HEADINGS = ("h1", "h2", "h3", "h4")
LABELLED = ("input", "select", "textarea")
UNLABELLED_INPUTS = ("hidden", "submit", "image", "button")
ADDRESSES = ("href", "src", "action", "formaction", "poster", "data", "srcset", "xlink:href")
INTERACTIVE = ("a", "button", "summary")


class Element:
    """One element of a page: its place among the elements and pieces of text of the whole page, both in order."""

    def __init__(self, tree: Tree, tag: str, attributes: dict[str, str], parent: Element | None) -> None:
        self.tag, self.attributes, self.parent = tag, attributes, parent
        self._tree = tree
        self._elements = slice(len(tree.elements) + 1, None)
        self._pieces = slice(len(tree.pieces), None)

    def end(self) -> None:
        """What is read from now on lies outside this element."""
        self._elements = slice(self._elements.start, len(self._tree.elements))
        self._pieces = slice(self._pieces.start, len(self._tree.pieces))

    def __getitem__(self, name: str) -> str:
        return self.attributes.get(name, "")

    def has(self, name: str) -> bool:
        return name in self.attributes

    def within(self, *tags: str) -> Element | None:
        """The nearest element around this one that is one of these."""
        above = self.parent
        while above is not None and above.tag not in tags:
            above = above.parent
        return above

    def walk(self) -> list[Element]:
        """Every element in this one, in the order of the page."""
        return self._tree.elements[self._elements]

    @property
    def children(self) -> list[Element]:
        return [one for one in self.walk() if one.parent is self]

    @cached_property
    def text(self) -> str:
        """Its own and its descendants' text."""
        return "".join(self._tree.pieces[self._pieces])

    @property
    def words(self) -> str:
        """What it says: text, or the alternative text of pictures in it."""
        alts = " ".join(one["alt"] for one in self.walk() if one.tag in ("img", "input"))
        return " ".join(f"{self.text} {alts}".split()) or self["aria-label"]


class Tree(HTMLParser):
    """Reads a page into elements and notes what is not closed or nested as it should be."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self.pieces: list[str] = []
        self.by_tag: dict[str, list[int]] = {}
        self.here: Element | None = None
        self.faults: list[str] = []
        self.feed(html)
        self.close()
        if self.here is not None:
            self.faults.append(f"<{self.here.tag}> is never closed")

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(self, tag, {name: value or "" for name, value in attrs}, self.here)
        if len(element.attributes) != len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice: {attrs}")
        self.by_tag.setdefault(tag, []).append(len(self.elements))
        self.elements.append(element)
        self.here = element
        if tag in VOID:
            self._leave()

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._leave()

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if self.here is None or self.here.tag != tag:
            self.faults.append(f"</{tag}> closes <{self.here.tag if self.here else '#root'}>")
        self._leave()

    def _leave(self) -> None:
        if self.here is not None:
            self.here.end()
            self.here = self.here.parent

    def updatepos(self, i: int, j: int) -> int:
        """Nobody asks in which line something stands, and counting lines takes time."""
        return j

    def handle_data(self, data: str) -> None:
        self.pieces.append(data)

    def all(self, *tags: str) -> list[Element]:
        """The elements of these kinds, in the order of the page."""
        return [self.elements[place] for place in sorted(place for tag in tags for place in self.by_tag.get(tag, ()))]


@lru_cache(maxsize=64)
def read_page(html: str) -> Tree:
    """A page as elements; many tests are answered with the very same page."""
    return Tree(html)


class Page:
    """An answer, and if it is a page, its elements."""

    def __init__(self, response: TestResponse) -> None:
        self.response = response
        self.status = response.status_code
        self.is_html = response.mimetype == "text/html" and "attachment" not in response.headers.get(
            "Content-Disposition", ""
        )
        self.html = response.get_data(as_text=True) if self.is_html else ""
        self.tree = read_page(self.html) if self.is_html else None

    def all(self, *tags: str) -> list[Element]:
        return self.tree.all(*tags) if self.tree else []

    def by_id(self, name: str) -> Element:
        return next(one for one in self.tree.elements if one["id"] == name)  # type: ignore[union-attr]

    @property
    def words(self) -> str:
        """The page's own text, without head, sections and colophon."""
        return " ".join(self.all("main")[0].text.split())

    @property
    def links(self) -> dict[str, str]:
        """What each link in the page itself says, and where it leads."""
        return {one.words: one["href"] for one in self.all("a") if one.within("main")}

    def form(self, action: str) -> dict[str, str]:
        """What the form of that action would send if nothing were changed."""
        form = next(one for one in self.all("form") if one["action"].split("?")[0] == action)
        return dict(_sent(form))


def _sent(form: Element) -> Iterator[tuple[str, str]]:
    for one in form.walk():
        if one.tag == "input" and (one["type"] not in ("radio", "image") or one.has("checked")):
            yield one["name"], one["value"]
        elif one.tag == "textarea":
            yield one["name"], one.text
        elif one.tag == "select":
            options = [option for option in one.walk() if option.tag == "option"]
            yield one["name"], next((o["value"] for o in options if o.has("selected")), options[0]["value"])


class CheckedClient:
    """Fetches pages as a browser on this machine would, and inspects each."""

    def __init__(self, app: Flask) -> None:
        self.client = app.test_client()

    def get(self, address: str, status: int = 200, **more: Any) -> Page:
        return self._checked(self.client.get(address, **more), address, status)

    def post(self, address: str, data: dict[str, Any] | None = None, status: int = 303, **more: Any) -> Page:
        headers = {"Origin": ORIGIN, **more.pop("headers", {})}
        answer = self.client.post(address, data=data or {}, headers=headers, **more)
        return self._checked(answer, address, status)

    def send(self, address: str, data: dict[str, Any] | None = None, **more: Any) -> Page:
        """Post, and go where the answer leads."""
        to = urlsplit(self.post(address, data, **more).response.headers["Location"])
        return self.get(f"{to.path}?{to.query}" if to.query else to.path)

    def _checked(self, response: TestResponse, address: str, status: int) -> Page:
        response.get_data()
        response.close()
        page = Page(response)
        said = page.words if page.is_html and page.all("main") else str(response.get_data()[:400])
        assert page.status == status, f"{address}: {page.status}, not {status}: {said}"
        faults = header_faults(response) + (page_faults(page) if page.is_html and status not in (303, 308) else [])
        assert not faults, f"{address}:\n  " + "\n  ".join(faults)
        return page


def header_faults(response: TestResponse) -> list[str]:
    """Headers that every answer must carry."""
    wanted = {
        "Content-Security-Policy": "default-src 'none'",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cache-Control": "",
    }
    return [
        f"header {name} is {response.headers.get(name)!r}"
        for name, begins in wanted.items()
        if not (response.headers.get(name) or "").startswith(begins) or not response.headers.get(name)
    ]


def page_faults(page: Page) -> list[str]:
    """What is wrong with a page; an empty list when nothing is."""
    assert page.tree is not None
    checks = (_frame, _headings, _names, _fields, _pictures, _forms, _inline, _addresses, _ids)
    return [*page.tree.faults, *(fault for check in checks for fault in check(page))]


def _frame(page: Page) -> Iterator[str]:
    if not page.html.lstrip().lower().startswith("<!doctype html>"):
        yield "no doctype"
    if [one["lang"] for one in page.all("html")] != ["en-GB"]:
        yield "no language"
    titles = [one for one in page.all("title") if one.within("head")]
    if len(titles) != 1 or not titles[0].text.strip(" ·"):
        yield "no title"
    if len(page.all("main")) != 1:
        yield f"{len(page.all('main'))} main parts"
    if not any(one["name"] == "viewport" for one in page.all("meta")):
        yield "no viewport"


def _headings(page: Page) -> Iterator[str]:
    levels = [int(one.tag[1]) for one in page.all(*HEADINGS)]
    if levels.count(1) != 1:
        yield f"{levels.count(1)} h1"
    for before, after in pairwise(levels):
        if after > before + 1:
            yield f"h{after} follows h{before}"
    yield from (f"empty {one.tag}" for one in page.all(*HEADINGS) if not one.text.strip())


def _names(page: Page) -> Iterator[str]:
    for one in page.all(*INTERACTIVE):
        if not one.words:
            yield f"<{one.tag}> says nothing: {one.attributes}"
        if one.within(*INTERACTIVE) is not None:
            yield f"<{one.tag}> inside another: {one.words}"
        if one.tag == "a" and not one["href"]:
            yield f"link without address: {one.words}"
    navs = [one["aria-label"] for one in page.all("nav")]
    if "" in navs or len(set(navs)) != len(navs):
        yield f"navigations not told apart: {navs}"


def _fields(page: Page) -> Iterator[str]:
    fors = {one["for"] for one in page.all("label")}
    for one in page.all(*LABELLED):
        if one["type"] in UNLABELLED_INPUTS:
            continue
        label = one.within("label")
        if not (one["aria-label"] or one["id"] in fors - {""} or (label is not None and label.text.strip())):
            yield f"field without a label: {one.attributes}"
        if not one["name"]:
            yield f"field without a name: {one.attributes}"
        if one["type"] == "radio" and one.within("fieldset") is None:
            yield f"choice outside a fieldset: {one.attributes}"
    for one in page.all("fieldset"):
        if not any(child.tag == "legend" and child.text.strip() for child in one.children):
            yield "fieldset without a legend"


def _pictures(page: Page) -> Iterator[str]:
    for one in page.all("img"):
        if not one.has("alt"):
            yield f"picture without alternative text: {one['src']}"
        sized = one["width"].isdigit() and one["height"].isdigit()
        if not sized and ("/thumb" in one["src"] or "/view" in one["src"]):
            yield f"picture without a size: {one['src']}"
    for one in page.all("input"):
        if one["type"] == "image" and not one["alt"]:
            yield f"image button without words: {one['src']}"
    yield from ("drawing neither hidden nor named" for one in page.all("svg") if one.within("svg") is None
                and one["aria-hidden"] != "true" and not one["aria-label"])  # fmt: skip


def _forms(page: Page) -> Iterator[str]:
    for one in page.all("form"):
        if one["method"] == "dialog" and one.within("dialog") is not None:
            continue  # it closes its dialog and is sent nowhere
        if one["method"] not in ("get", "post") or not one["action"].startswith("/"):
            yield f"form without action or method: {one.attributes}"
        if one.within("form") is not None:
            yield f"form inside a form: {one['action']}"
        if not any(child.tag == "button" or child["type"] == "image" for child in one.walk()):
            yield f"form without a button: {one['action']}"


def _inline(page: Page) -> Iterator[str]:
    for one in page.tree.elements:  # type: ignore[union-attr]
        if one.tag == "style" or (one.tag == "script" and not one["src"]):
            yield f"inline <{one.tag}>"
        for name, value in one.attributes.items():
            if name == "style" or name.startswith("on") or value.strip().lower().startswith("javascript:"):
                yield f"inline {name} on <{one.tag}>"


def _addresses(page: Page) -> Iterator[str]:
    ids = {one["id"] for one in page.tree.elements}  # type: ignore[union-attr]
    for one in page.tree.elements:  # type: ignore[union-attr]
        for name, value in one.attributes.items():
            if name not in ADDRESSES:
                continue
            if value and (urlsplit(value).scheme or urlsplit(value).netloc):
                yield f"<{one.tag}> leads elsewhere: {value}"
            if value.startswith("#") and value[1:] not in ids:
                yield f"<{one.tag}> leads to no place of the page: {value}"


def _ids(page: Page) -> Iterator[str]:
    ids = Counter(one["id"] for one in page.tree.elements if one.has("id"))  # type: ignore[union-attr]
    yield from (f"id twice or empty: {name!r}" for name, times in sorted(ids.items()) if not name or times > 1)
    for one in page.tree.elements:  # type: ignore[union-attr]
        for name in one["aria-labelledby"].split():
            if name not in ids:
                yield f"labelled by nothing: {name}"
