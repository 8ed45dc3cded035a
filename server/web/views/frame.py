"""What stands around every panel of a build: title block, rail, sheet and what the last edit did."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from server.domain.model.plan import Plan
from server.domain.sockets import layout_of
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_address import bench_href
from server.web.views.fields import Trouble
from server.web.views.labels import labels_line
from server.web.views.pieces import STATES
from server.web.views.progress import changes_line, shelf_line, work_line
from server.web.views.rolls import rolls_line
from server.web.views.routes import waiting_words
from server.web.views.tests import tests_line

STEPS = (("supply", "Supply"), ("parts", "Parts"), ("routes", "Routes"), ("finish", "Finish"))
BENCH = (
    ("cards", "Cable cards"),
    ("waiting", "Cut now or wait"),
    ("cuts", "Cut list"),
    ("rolls", "Roll plan"),
    ("buys", "Buy list"),
    ("shelf", "Shelf"),
    ("tools", "Tools"),
    ("at-bench", "At the bench"),
    ("ledger", "Work done"),
    ("tests", "Test sheets"),
    ("labels", "Wire labels"),
    ("changes", "What changed at the bench"),
    ("files", "Lists and drawings"),
    ("papers", "Papers as PDF"),
    ("findings", "Findings"),
    ("estimate", "Estimate"),
)
RECORD = (("history", "History"), ("share", "Share"), ("details", "Build details"))
PAGES: dict[str, Callable[[str], str]] = {"shelf": lambda _: "/shelf", "at-bench": bench_href}
"""What the rail lists that is a page of its own, with what makes its address from the build's id."""
_PANELS = tuple(entry for entry in STEPS + BENCH + RECORD if entry[0] not in PAGES)
TITLES = {**dict(_PANELS), "path": "Legs and bends"}
"""Title of every panel by its name, those that the rail does not list included."""


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The strip on top: which build, how far saved, and what every edit moves."""

    name: str
    revision: int
    saved: str
    saved_iso: str
    wire: str
    bench_time: str
    stops: str
    findings: str
    estimate: str
    estimate_note: str


@dataclass(frozen=True, slots=True)
class RailItem:
    """One address of the rail with the line that says what it holds now."""

    id: str
    href: str
    name: str
    line: str
    current: bool
    step: str
    whole: bool = False
    """Whether it is a page of its own and not a panel of this one."""


@dataclass(frozen=True, slots=True)
class RailGroup:
    """A headed group of the rail."""

    id: str
    name: str
    items: tuple[RailItem, ...]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Somebody saved meanwhile: what changed, and what was typed, ready to be sent once more."""

    latest: int
    changes: tuple[str, ...]
    action: str
    reload: str
    typed: tuple[tuple[str, str], ...]
    mine: tuple[str, ...] = ()
    """What saving on top will change, in words."""
    lost: tuple[str, ...] = ()
    """What cannot be saved any more, in words."""


@dataclass(frozen=True, slots=True)
class BuildPage:
    """One screen of a build, and the answer to one edit of it."""

    title: str
    panel_name: str
    body: Markup
    """The panel itself."""
    title_block: TitleBlock
    rail: tuple[RailGroup, ...]
    sheet: str
    """The harness drawing as SVG; empty where the sheet is not shown."""
    sheet_key: str
    """Tells the drawing from every other; empty without one."""
    sheet_stays: bool
    """Whether the screen that asks shows this very drawing already."""
    build_href: str
    base: int
    message: str
    conflict: Conflict | None
    troubles: tuple[Trouble, ...]


def title_block(opened: Opened) -> TitleBlock:
    """The title block of a build as it stands."""
    summary = opened.plan.summary
    # Beside a stop or a warning the notes can wait for the findings panel.
    rest = (summary.warns, "warn") if summary.warns or summary.stops else (summary.notes, "note")
    findings = formats.count(*rest) if rest[0] else ""
    return TitleBlock(
        opened.build.name,
        opened.revision,
        formats.clock(opened.saved_at),
        opened.saved_at,
        formats.metres(summary.wire_mm),
        formats.hours(summary.minutes),
        formats.count(summary.stops, "stop") if summary.stops else "",
        findings if findings or summary.stops else "none",
        formats.money(summary.total, summary.currency),
        "" if opened.plan.estimate.complete else "incomplete",
    )


def rail(opened: Opened, current: str, links: int) -> tuple[RailGroup, ...]:
    """The rail with one line per address.

    Args:
        opened: The build as it stands.
        current: Name of the panel that is shown.
        links: How many share links stand.
    """
    lines = {
        **opened.once("rail lines", lambda: _lines(opened)),
        "share": formats.count(links, "link") if links else "not shared",
    }

    def group(key: str, name: str, entries: tuple[tuple[str, str], ...], *, numbered: bool = False) -> RailGroup:
        items = tuple(
            RailItem(
                f"rail-{panel}",
                PAGES[panel](opened.build_id) if panel in PAGES else f"/builds/{opened.build_id}/{panel}",
                title,
                lines[panel],
                panel == current,
                str(place) if numbered else "",
                panel in PAGES,
            )
            for place, (panel, title) in enumerate(entries, start=1)
        )
        return RailGroup(key, name, items)

    return (
        group("describe", "describe", STEPS, numbered=True),
        group("bench", "take to the bench", BENCH),
        group("record", "keep and share", RECORD),
    )


def _lines(opened: Opened) -> dict[str, str]:
    """What each address of the rail holds now, in one line."""
    plan, build = opened.plan, opened.build
    summary = plan.summary
    layout = layout_of(build, opened.catalogue)
    supply = f"{layout.name}, {formats.count(len(layout.ports), 'port')}" if layout else "none chosen yet"
    cut = sum(group.count for group in plan.cuts)
    waiting = sum(1 for run in plan.runs for wire in run.wires if wire.cut_mm is None)
    return {
        "supply": supply,
        "parts": _parts_line(opened),
        "routes": _routes_line(plan),
        "finish": _finish_line(opened),
        "cards": formats.count(len(plan.runs), "card"),
        "waiting": waiting_words(opened),
        "cuts": formats.count(cut, "wire") + (f", {waiting} wait" if waiting else ""),
        "rolls": rolls_line(opened),
        "buys": formats.count(len(plan.buys), "line"),
        "shelf": shelf_line(opened),
        "at-bench": "one task at a time, on a phone",
        "ledger": work_line(opened),
        "tests": tests_line(opened),
        "labels": labels_line(opened),
        "changes": changes_line(plan),
        "tools": formats.count(len(plan.tools), "tool"),
        "files": "CSV, XLSX and SVG",
        "papers": "A4, A5 or Letter",
        "findings": formats.listed(
            formats.count(number, word)
            for number, word in ((summary.stops, "stop"), (summary.warns, "warn"), (summary.notes, "note"))
        ),
        "estimate": formats.money(summary.total, summary.currency) + ("" if plan.estimate.complete else ", incomplete"),
        "history": f"at revision {opened.revision}",
        "details": (build.client and f"for {build.client}") or "name, client, notes",
    }


def _parts_line(opened: Opened) -> str:
    """Parts by kind, and how many inlets nothing feeds."""
    kinds = Counter(formats.KINDS[part.kind] for part in opened.build.parts)
    words = [name if times == 1 else formats.count(times, name) for name, times in kinds.items()]
    line = formats.listed(words) or "none yet"
    return f"{line}; {len(opened.plan.unfed)} not fed" if opened.plan.unfed else line


def _routes_line(plan: Plan) -> str:
    """Routes by how well they are known."""
    states = Counter(run.state for run in plan.runs)
    words = [f"{states[state]} {word}" for state, word in STATES.items() if states[state]]
    return formats.listed(words) or "no runs yet"


def _finish_line(opened: Opened) -> str:
    """Colours and sleeve in a few words."""
    finish = opened.build.finish
    colours = "coloured by net" if finish.colour_mode == "by_net" else formats.listed(dict.fromkeys(finish.pattern))
    sleeved = f"sleeved {formats.listed(dict.fromkeys(finish.sleeve_pattern))}" if finish.sleeve else "bare wires"
    return f"{colours}; {sleeved}"
