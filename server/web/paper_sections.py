"""The sections of a build's papers: which there are, which have nothing in them, and what sets each."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from server.documents.pdf import Mark, Typeset, joined
from server.domain.errors import NotFoundError
from server.domain.model.plan import RunPlan
from server.services.opened import Opened
from server.services.test_sheets import sheet_for
from server.web.card_setting import set_card
from server.web.paper_setting import set_paper
from server.web.views import formats
from server.web.views.bought import Shop
from server.web.views.papers_cover import harness_paper
from server.web.views.papers_lists import buys_paper, cuts_paper, tools_paper
from server.web.views.papers_rolls import rolls_paper
from server.web.views.papers_tests import sheet_paper
from server.web.views.pieces import run_title

PARTS: dict[str, str] = {
    "harness": "Harness drawing",
    "cuts": "Cut list",
    "rolls": "Roll plan",
    "buys": "Buy list",
    "tools": "Tools",
    "cards": "Cable cards",
    "tests": "Test sheets",
}
"""What can be chosen, in the order in which it is bound behind the cover."""
PER_RUN = ("cards", "tests")
"""What has one section for each run."""
TEST_SHEETS = ("css/papers.css", "css/papers-tests.css")


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for."""

    paper: str
    parts: tuple[str, ...]
    address: str
    """Where the planner is reached, for what a phone is led to."""


@dataclass(frozen=True, slots=True)
class Section:
    """One section of the papers."""

    key: str
    """Its part; for one of a run ``tests/r4``."""
    name: str
    """What the contents call it."""
    anchor: str
    """Id of an element on its first page, to which the contents lead."""
    word: str
    """What is said while it is being set."""
    marks: tuple[Mark, ...]
    make: Callable[[int], Typeset]
    """Sets it; is given how many pages stand before it."""


def sections_of(opened: Opened, shop: Shop, order: Order) -> tuple[Section, ...]:
    """Every section that was asked for and has something in it, in the order in which they are bound.

    Args:
        opened: The build at the revision that is set.
        shop: Shelf, names and suppliers for the buy list.
        order: What is asked for.
    """
    return tuple(section for part in PARTS if part in order.parts for section in _part(part, opened, shop, order))


def left_out(opened: Opened, order: Order) -> tuple[str, ...]:
    """What was asked for and has nothing in it, in words.

    Args:
        opened: The build at the revision that is set.
        order: What is asked for.
    """
    plan = opened.plan
    empty = {
        "harness": (plan.runs, "no cable is planned yet"),
        "cuts": (plan.cuts, "no run has a measured length, so no wire is to be cut"),
        "rolls": (plan.rolls, "nothing is to be cut"),
        "buys": (plan.buys, "nothing is needed"),
        "tools": (plan.tools, "no tool is needed"),
        "cards": (plan.runs, "no cable is planned yet"),
        "tests": (plan.runs, "no cable is planned yet"),
    }
    told = [f"{PARTS[part]}: {why}." for part, (held, why) in empty.items() if part in order.parts and not held]
    untested = [str(run.number) for run in plan.runs if not sheet_for(opened, run.id).joins]
    if "tests" in order.parts and untested:
        runs = "run" if len(untested) == 1 else "runs"
        told.append(f"Test sheets of {runs} {formats.spans(untested)}: the cable has no wires that can be tested.")
    return tuple(told)


def run_papers(opened: Opened, run_id: str, order: Order) -> bytes:
    """The papers of one run by themselves.

    Args:
        opened: The build as it stands.
        run_id: The run.
        order: What is asked for.

    Raises:
        NotFoundError: the build has no such run, or nothing of it can be set.
        PapersError: WeasyPrint or Pango is missing.
    """
    run = next((run for run in opened.plan.runs if run.id == run_id), None)
    if run is None:
        raise NotFoundError("This build has no such run.")
    sections = [held for part in PER_RUN for held in _of_runs(part, opened, order) if held.key == f"{part}/{run_id}"]
    if not sections:
        raise NotFoundError("There is nothing to put on paper for this run.")
    made: list[Typeset] = []
    for section in sections:
        made.append(section.make(sum(typeset.pages for typeset in made)).marked((1, section.word.capitalize())))
    return joined(made, f"{opened.build.name}, revision {opened.revision}: run {run.number}, {run_title(run)}")


def _part(part: str, opened: Opened, shop: Shop, order: Order) -> Iterator[Section]:
    """The sections of one part: one for a list, one for each run otherwise."""
    if part in PER_RUN:
        yield from _of_runs(part, opened, order)
        return
    plan, paper = opened.plan, order.paper
    makers: dict[str, tuple[object, Callable[[int], Typeset]]] = {
        "harness": (plan.runs, lambda before: _harness(opened, paper, before)),
        "cuts": (plan.cuts, lambda before: set_paper("cuts", cuts_paper(opened), paper, before=before)),
        "rolls": (plan.rolls, lambda before: set_paper("rolls", rolls_paper(opened, paper), paper, before=before)),
        "buys": (plan.buys, lambda before: set_paper("buys", buys_paper(opened, shop), paper, before=before)),
        "tools": (plan.tools, lambda before: set_paper("tools", tools_paper(opened), paper, before=before)),
    }
    held, make = makers[part]
    if held:
        name = PARTS[part]
        yield Section(part, name, f"paper-{part}", name.lower(), ((2, name),), make)


def _of_runs(part: str, opened: Opened, order: Order) -> Iterator[Section]:
    """One section for each run that has something to show."""
    group: tuple[Mark, ...] = ((2, PARTS[part]),)
    for run in opened.plan.runs:
        made = _card(run, opened, order) if part == "cards" else _test(run, opened, order)
        if made:
            yield replace(made, marks=(*group, *made.marks))
            group = ()


def _card(run: RunPlan, opened: Opened, order: Order) -> Section:
    def make(before: int) -> Typeset:
        return set_card(opened, run.id, order.address, order.paper)

    name = f"card of run {run.number}"
    return Section(f"cards/{run.id}", PARTS["cards"], f"paper-card-{run.number}", name, (_mark(run),), make)


def _test(run: RunPlan, opened: Opened, order: Order) -> Section | None:
    if not sheet_for(opened, run.id).joins:
        return None

    def make(before: int) -> Typeset:
        return set_paper("tests", sheet_paper(opened, run.id), order.paper, sheets=TEST_SHEETS, before=before)

    name = f"test sheet of run {run.number}"
    return Section(f"tests/{run.id}", PARTS["tests"], f"paper-test-{run.number:02d}", name, (_mark(run),), make)


def _mark(run: RunPlan) -> Mark:
    return 3, f"Run {run.number}, {run_title(run)}"


def _harness(opened: Opened, paper: str, before: int) -> Typeset:
    view = harness_paper(opened, paper)
    return set_paper("harness", view, paper, lying=view.lying, before=before)
