"""Drawings of a build as files: what there is to save, under which address, and each of them as a standing SVG."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from server.domain.errors import NotFoundError
from server.domain.model.plan import RollSheet, RunPlan
from server.drawing.crossing import crossing_svg
from server.drawing.face import plug_face_svg
from server.drawing.plugs import View
from server.drawing.ribbon import ribbon_end_svg, ribbon_svg
from server.drawing.rolls import roll_svgs
from server.drawing.stacked import stacked
from server.drawing.standalone import standalone
from server.services.opened import Opened
from server.web.views.pieces import run_title
from server.web.views.route_facts import route_svg
from server.web.views.sheet import sheet_svg


@dataclass(frozen=True, slots=True)
class DrawingLink:
    """One drawing to save."""

    href: str
    name: str
    """What it shows, in a few words."""
    run: int | None
    """Number of its run; ``None`` for a drawing of the whole build."""
    run_name: str = ""


def drawing_links(opened: Opened) -> tuple[DrawingLink, ...]:
    """Every drawing of a build that can be saved: the harness, the rolls, then run by run.

    Args:
        opened: The build as it stands.
    """
    base = f"/builds/{opened.build_id}/drawings"
    found = [DrawingLink(f"{base}/harness.svg", "harness", None)]
    found += [
        DrawingLink(f"{base}/rolls-{n}.svg", f"rolls: {sheet.name}", None)
        for n, sheet in enumerate(opened.plan.rolls, start=1)
    ]
    return (*found, *(link for run in opened.plan.runs for link in run_links(opened, run)))


def run_links(opened: Opened, run: RunPlan) -> tuple[DrawingLink, ...]:
    """The drawings of one run that can be saved; none of a run that the proof found a fault in.

    Args:
        opened: The build as it stands.
        run: The planned run.
    """
    base = f"/builds/{opened.build_id}/drawings/{run.id}"
    return tuple(
        DrawingLink(f"{base}/{name}.svg", words, run.number, run_title(run))
        for name, (words, _) in _drawings(opened, run).items()
    )


def build_drawing(opened: Opened, name: str) -> tuple[str, str]:
    """A drawing of the whole build.

    Args:
        opened: The build as it stands.
        name: ``harness``, or ``rolls-`` with the number of a material of the roll plan.

    Returns:
        The drawing as a standing SVG document, and a name for its file without its ending.

    Raises:
        NotFoundError: there is no such drawing.
    """
    file = f"{_slug(opened.build.name)}-{name}"
    if name == "harness":
        return standalone(sheet_svg(opened, lambda number: f"#run-{number}")), file
    known = re.fullmatch(r"rolls-([1-9]\d{0,5})", name)
    if known is None or int(known[1]) > len(opened.plan.rolls):
        raise NotFoundError("There is no such drawing of this build.")
    number = int(known[1])
    return standalone(_rolls(opened, number, opened.plan.rolls[number - 1])), file


def run_drawing(opened: Opened, run_id: str, name: str) -> tuple[str, str]:
    """A drawing of one run.

    Args:
        opened: The build as it stands.
        run_id: The run.
        name: One of the names that ``run_links`` gives.

    Returns:
        The drawing as a standing SVG document, and a name for its file without its ending.

    Raises:
        NotFoundError: there is no such run or drawing, or the run's plan has a fault.
    """
    run = next((run for run in opened.plan.runs if run.id == run_id), None)
    if run is None:
        raise NotFoundError("This build has no such run.")
    drawings = _drawings(opened, run)
    if name not in drawings:
        raise NotFoundError("There is no such drawing of this run.")
    return standalone(drawings[name][1]()), f"{_slug(opened.build.name)}-run-{run.number}-{name}"


def _drawings(opened: Opened, run: RunPlan) -> Mapping[str, tuple[str, Callable[[], str]]]:
    """By name, what each drawing of a run shows and what makes it."""
    if not run.proved:
        return {}
    catalogue = opened.catalogue
    found: dict[str, tuple[str, Callable[[], str]]] = {
        "ribbon": ("ribbon, laid out flat", lambda: ribbon_svg(run, catalogue)),
        "ribbon-end": ("ribbon, last stretch", lambda: ribbon_end_svg(run, catalogue)),
    }
    if run.sources and run.ends and run.wires:
        found["crossing"] = ("crossing diagram", lambda: crossing_svg(run, catalogue))
    route = route_svg(run, opened)
    if route:
        found["route"] = ("route by legs and bends", lambda: route)
    for at_source, plugs in ((True, run.sources), (False, run.ends)):
        for index, plug in enumerate(plugs):
            if plug.housing not in catalogue.housings:
                continue
            for view in ("wire", "mating"):
                words = f"plug at {plug.place}, {plug.socket}: {view} side"
                key = f"face-{'s' if at_source else 'e'}{index}-{view}"
                found[key] = (words, _face(run, index, at_source, opened, view))
    return found


def _face(run: RunPlan, index: int, at_source: bool, opened: Opened, view: str) -> Callable[[], str]:
    side: View = "mating" if view == "mating" else "wire"
    return lambda: plug_face_svg(run, index, at_source, opened.catalogue, view=side)


def _rolls(opened: Opened, number: int, sheet: RollSheet) -> str:
    """All rolls of one material below one another."""
    allowances = opened.build.allowances
    bars = roll_svgs(
        sheet,
        opened.catalogue,
        f"roll-{number}",
        loss_mm=allowances.cut_loss_mm,
        least_mm=allowances.remnant_least_mm,
    )
    return stacked(f"rolls-{number}", f"Rolls: {sheet.name}", bars)


def _slug(name: str) -> str:
    """A name as part of a file's name: letters, digits and hyphens only."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "build"
