"""A build's papers bound into one file: section after section behind a cover that knows where each of them stands."""

from collections.abc import Callable, Sequence
from functools import partial

from server.documents.pdf import Typeset, joined
from server.services.apart import Tell
from server.services.opened import Opened
from server.web.paper_sections import Order, Section, left_out, sections_of
from server.web.paper_setting import set_paper
from server.web.views.bought import Shop
from server.web.views.papers_cover import Filed, cover_paper


class Binder:
    """Sets the sections of one build one after another and binds them.

    The cover stands first but is set last, when it is known on which page everything is. How many pages it takes is
    asked before, since the numbers of all other pages lean on it.
    """

    def __init__(self, opened: Opened, shop: Shop, order: Order) -> None:
        """Open the binder.

        Args:
            opened: The build at the revision that is set.
            shop: Shelf, names and suppliers for the buy list.
            order: What is asked for.
        """
        self._opened, self._order = opened, order
        self._sections = sections_of(opened, shop, order)
        self._left_out = left_out(opened, order)
        self._filed: list[Filed] = []
        self._set: list[Typeset] = []
        self._pages = 0

    @property
    def pages(self) -> int:
        """How many pages are set so far, with those of the cover."""
        return self._pages

    @property
    def steps(self) -> int:
        """How many steps it takes: the cover, each section, and the file."""
        return len(self._sections) + 2

    def bind(self, tell: Tell) -> bytes:
        """Set everything and bind it.

        Args:
            tell: Called before each step, and before each page of the file; what it raises stops the binding.

        Raises:
            PapersError: WeasyPrint or Pango is missing.
        """
        tell(0, "cover")
        self._measure()
        for place, section in enumerate(self._sections, 1):
            tell(place, section.word)
            self._add(section)
        tell(self.steps - 1, "the file")
        return self._written(partial(tell, self.steps - 1))

    def _written(self, tell: Callable[[str], None]) -> bytes:
        name = self._opened.build.name
        cover = self._cover(self._filed).marked((1, name))
        title = f"{name}, revision {self._opened.revision}: papers"
        return joined(
            (cover, *self._set), title, tell=lambda place, pages: tell(f"page {place + 1} of {pages} into the file")
        )

    def _measure(self) -> None:
        """Set the cover with what will stand on it, only to learn how many pages it takes."""
        self._pages = self._cover([Filed(held.key, held.name, held.anchor, 1, 1) for held in self._sections]).pages

    def _cover(self, filed: Sequence[Filed]) -> Typeset:
        view = cover_paper(self._opened, self._order.paper, filed, self._left_out, self._pages)
        return set_paper("cover", view, self._order.paper)

    def _add(self, section: Section) -> None:
        made = section.make(self._pages).marked(*section.marks)
        self._filed.append(Filed(section.key, section.name, section.anchor, made.pages, self._pages + 1))
        self._set.append(made)
        self._pages += made.pages


def bound(tell: Tell, opened: Opened, shop: Shop, order: Order) -> bytes:
    """The papers of a build in one file, for a process of its own.

    Args:
        tell: Called before each step; what it raises stops the binding.
        opened: The build at the revision that is set, with what follows from it left out.
        shop: Shelf, names and suppliers for the buy list.
        order: What is asked for.

    Raises:
        PapersError: WeasyPrint or Pango is missing.
    """
    return Binder(opened, shop, order).bind(tell)
