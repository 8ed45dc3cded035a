"""Papers as PDF (ISO 32000), set by WeasyPrint: HTML and style sheets in, pages of a true paper size out.

Nothing is fetched from anywhere: a paper may use files below one folder and what stands in its own text. The library
and the Pango beneath it are loaded when the first paper is set, so that the planner starts where they are missing.
"""

import gc
import re
import time
from base64 import b64encode
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from threading import RLock
from types import MappingProxyType
from typing import Protocol
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from server.domain.errors import LoomwrightError

PAPERS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"A4": (210.0, 297.0), "A5": (148.0, 210.0), "Letter": (215.9, 279.4)}
)
"""Width and height in mm, upright. Source: ISO 216 (A4, A5); ANSI/ASME Y14.1 (Letter, size A)."""
MISSING = (
    "PDFs cannot be made here: {what} is missing. Install Pango from your operating system's packages "
    "(Debian, Ubuntu: libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0; macOS: brew install pango; "
    "Windows: Pango of MSYS2), then start the planner again. Everything else works without it."
)
Mark = tuple[int, str]
"""A bookmark: its level from 1 at the top, and its words."""

# Pango's font maps are not made for several threads; one paper is set at a time, whoever asks.
_setting = RLock()
TURN_S = 0.001
"""How long a file that is being written waits between two pages, so that others take their turn. [s]"""


_DRAWING = re.compile(r"(?<!,)<svg\b.*?</svg>", re.DOTALL)
"""A drawing that is no address of a picture already; none that is set on paper holds another within it."""
_CLASS = re.compile(r' class="([^"]*)"')
_SVG = "http://www.w3.org/2000/svg"


class PapersError(LoomwrightError):
    """No PDF can be made; says in words what to install."""


class _Page(Protocol):
    """What is used of a laid-out page."""

    width: float
    height: float
    bookmarks: list[tuple[int, str, tuple[float, float], str]]

    def paint(self, stream: object, scale: float = 1) -> None:
        """Write it."""


class _Document(Protocol):
    """What is used of a laid-out document."""

    pages: list[_Page]

    def copy(self, pages: list[_Page]) -> "_Document":
        """The same with other pages."""

    def write_pdf(self) -> bytes:
        """The file."""


class Typeset:
    """Pages that are laid out but not yet written."""

    def __init__(self, document: _Document) -> None:
        self._document = document

    @property
    def pages(self) -> int:
        """How many pages there are."""
        return len(self._document.pages)

    @property
    def sizes(self) -> tuple[tuple[float, float], ...]:
        """Width and height of each page in mm."""
        return tuple((page.width * 25.4 / 96, page.height * 25.4 / 96) for page in self._document.pages)

    def marked(self, *marks: Mark) -> "Typeset":
        """The same pages with these bookmarks at the top of the first, in place of those of its headings.

        Args:
            marks: From the outermost inwards, such as ``(2, "Cable cards"), (3, "Run 4")``.
        """
        for page in self._document.pages:
            page.bookmarks = []
        self._document.pages[0].bookmarks = [(level, words, (0.0, 0.0), "open") for level, words in marks]
        return self


def page_rule(paper: str, *, lying: bool = False, before: int = 0) -> str:
    """The rules that give pages their size and their number, to be set after the style sheets.

    Args:
        paper: A key of ``PAPERS``.
        lying: Whether the long side lies.
        before: Pages that stand before these in the whole file, for the counter ``page``; ``sheet`` counts from one.

    Raises:
        KeyError: no such paper.
    """
    width, height = PAPERS[paper]
    if lying:
        width, height = height, width
    size = f"@page {{ size: {width:g}mm {height:g}mm; counter-increment: sheet page; }}"
    return f"{size} @page :first {{ counter-reset: page {before} sheet 0; }}"


def style_sheets(base: Path, names: Sequence[str]) -> tuple[str, ...]:
    """The text of style sheets.

    Args:
        base: The folder of static files.
        names: Paths below it, such as ``css/papers.css``.

    Raises:
        OSError: one cannot be read.
    """
    return tuple((base / name).read_text(encoding="utf-8") for name in names)


def typeset(html: str, css: Sequence[str], base: Path) -> Typeset:
    """Lay a paper out.

    Args:
        html: A whole HTML document; relative addresses in it are files below ``base``.
        css: Texts of style sheets, later ones going over earlier ones.
        base: The only folder from which anything may be read.

    Raises:
        PapersError: WeasyPrint or Pango is missing.
    """
    with _setting, _unswept():
        weasyprint = _library()
        address = f"{base.resolve().as_uri()}/"
        sheets = [_sheet(text, base) for text in css]
        made = weasyprint.HTML(string=pictured(html), base_url=address, url_fetcher=_only_below(base))
        document: _Document = made.render(stylesheets=sheets, font_config=_fonts())
        return Typeset(document)


@contextmanager
def _unswept() -> Iterator[None]:
    """Keep Python's collector of cycles waiting: a page is made of many small objects that all live until it is done.

    Each sweep goes over everything alive, the build and the library with it; together they took two fifths of the time.
    """
    swept = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if swept:
            gc.enable()


def pictured(html: str) -> str:
    """A paper with each drawing in its text made a picture: an ``img`` of the same class, whose address holds it.

    A drawing that stands in the text is read as part of the page, and every rule of the style sheets is held against
    every line of it: most of the time that a card takes. A picture is read by itself, and once however often it comes.

    Args:
        html: A whole HTML document; its ``svg`` elements are well-formed XML.
    """
    return _DRAWING.sub(_picture, html)


def _picture(found: re.Match[str]) -> str:
    svg = found[0]
    head = svg[: svg.index(">")]
    if " xmlns=" not in head:
        svg = svg.replace("<svg", f'<svg xmlns="{_SVG}"', 1)
    named = _CLASS.search(head)
    kind = f' class="{named[1]}"' if named else ""
    return f'<img{kind} src="data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}">'


def joined(
    sections: Sequence[Typeset], title: str, author: str = "", *, tell: Callable[[int, int], None] | None = None
) -> bytes:
    """One file of all sections, with their bookmarks and the parts of their fonts that they use.

    Args:
        sections: In the order wanted; at least one.
        title: What a viewer shows as the file's name.
        author: Whose file it is; left out when empty.
        tell: Called before each page is written, with how many are and how many there are; what it raises stops it.

    Returns:
        The file; the same sections answer the same bytes, since no time or random mark goes into it.

    Raises:
        ValueError: there is no section.
        PapersError: the fonts could not be read.
    """
    if not sections:
        raise ValueError("a paper without sections")
    with _setting:
        pages = [page for section in sections for page in section._document.pages]
        if tell:
            pages = [_Told(page, tell, place, len(pages)) for place, page in enumerate(pages)]
        whole = sections[0]._document.copy(pages)
        metadata = import_module("weasyprint.pdf.metadata").DocumentMetadata
        whole.metadata = metadata(title=title, authors=[author] if author else [], generator="Loomwright")  # type: ignore[attr-defined]  # The library's own attribute.
        return whole.write_pdf()


class _Told:
    """A page that says when it is being written, and lets other papers be set before it."""

    def __init__(self, page: _Page, tell: Callable[[int, int], None], place: int, pages: int) -> None:
        self._page, self._tell, self._place, self._pages = page, tell, place, pages
        self.width, self.height, self.bookmarks = page.width, page.height, page.bookmarks

    def __getattr__(self, name: str) -> object:
        return getattr(self._page, name)

    def paint(self, stream: object, scale: float = 1) -> None:
        """Write it."""
        self._tell(self._place, self._pages)
        _setting.release()
        time.sleep(TURN_S)
        _setting.acquire()
        self._page.paint(stream, scale)


class _Library(Protocol):
    """What is used of WeasyPrint."""

    CSS: Callable[..., object]
    HTML: Callable[..., "_Html"]


class _Html(Protocol):
    """A document that can be laid out."""

    def render(self, *, stylesheets: list[object], font_config: object) -> _Document:
        """Lay it out."""


class _Fetcher(Protocol):
    """What is used of WeasyPrint's reader of files."""

    fetch: Callable[..., object]


def _library() -> _Library:
    """WeasyPrint, loaded when it is first needed.

    Raises:
        PapersError: it, or what it loads, is missing.
    """
    try:
        found: _Library = import_module("weasyprint")
    except ImportError as error:
        raise PapersError(MISSING.format(what=f"the Python package {error.name or 'weasyprint'}")) from error
    except OSError as error:
        raise PapersError(MISSING.format(what="the library Pango")) from error
    return found


@lru_cache(maxsize=1)
def _fonts() -> object:
    """The fonts of this computer, looked up once: papers load none of their own, and each look-up takes megabytes."""
    made: object = import_module("weasyprint.text.fonts").FontConfiguration()
    return made


@lru_cache(maxsize=64)
def _sheet(text: str, base: Path) -> object:
    """A style sheet, read once: the same few stand behind every paper."""
    address = f"{base.resolve().as_uri()}/"
    return _library().CSS(string=text, base_url=address, url_fetcher=_only_below(base), font_config=_fonts())


@lru_cache(maxsize=4)
def _only_below(base: Path) -> _Fetcher:
    """A reader that reads files below one folder and pictures within the text, and nothing else."""
    root = base.resolve()
    fetcher: _Fetcher = import_module("weasyprint.urls").URLFetcher(allowed_protocols=("file", "data"))
    read = fetcher.fetch

    def fetch(url: str, headers: Mapping[str, str] | None = None) -> object:
        parts = urlsplit(url)
        if parts.scheme == "file":
            path = Path(url2pathname(unquote(parts.path))).resolve()
            if parts.netloc or not path.is_relative_to(root):
                raise ValueError(f"a paper may not read {url}")
        return read(url, headers)

    fetcher.fetch = fetch
    return fetcher
