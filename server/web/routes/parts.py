"""The parts step: parts and the runs that feed them."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.forms import Reader
from server.web.reading.runs import branching_of
from server.web.screen import Desk, Posted, Scene, panel, posted, saved, without_panel
from server.web.views.formats import KINDS
from server.web.views.parts import LATE_KINDS, PartsPanel, parts_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("parts", lasting=True)
def parts(scene: Scene) -> PartsPanel:
    """The view of the panel."""
    return parts_panel(
        scene.opened, scene.base, scene.fields, scene.desk.recipes(), scene.desk.late_ranges(scene.opened)
    )


@router.post("/parts")
def add(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("parts")]) -> Response:
    """Parts of a usual kind."""
    read = form.reader()
    count = read.whole("count", 1, 40)
    read.done()
    return saved(request, desk.add_parts(build_id, read.base(), read.word("recipe"), count, read.word("name")), form)


@router.post("/parts/late")
def add_late(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("parts")]) -> Response:
    """Fans or lights that come last; what the build has stays as it is."""
    read = form.reader()
    kind = read.one_of("late", tuple(LATE_KINDS))
    count = read.whole(f"late.{kind}.count", 1, 40)
    read.done()
    return saved(request, desk.add_late(build_id, read.base(), read.word(f"late.{kind}.recipe"), count), form)


@router.post("/parts/own")
def add_own(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("parts")]) -> Response:
    """A part with sockets picked one by one."""
    read = form.reader()
    kind = read.one_of("kind", tuple(KINDS))
    read.done()
    name, pinouts, chain = read.word("part_name"), read.chosen("pinouts"), read.word("chain")
    return saved(request, desk.add_custom_part(build_id, read.base(), kind, name, pinouts, chain), form)


@router.post("/parts/{part_id}/rename")
def rename(
    request: Request, desk: Desk, build_id: str, part_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """Another name for a part."""
    read = form.reader()
    return saved(request, desk.rename_part(build_id, read.base(), part_id, read.word(f"parts.{part_id}.name")), form)


@router.post("/parts/{part_id}/remove")
def remove(
    request: Request, desk: Desk, build_id: str, part_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """Away with a part and the runs that feed only it."""
    return saved(request, desk.remove_part(build_id, form.reader().base(), part_id), form)


@router.post("/propose")
def propose(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("parts")]) -> Response:
    """Runs for every inlet that nothing feeds."""
    return saved(request, desk.propose_runs(build_id, form.reader().base()), form)


@router.post("/runs")
def add_run(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("parts")]) -> Response:
    """A run from a port of choice."""
    read = form.reader()
    source = places(read, "source")
    ends = places(read, "ends")
    first = source[0] if source else None
    branching = branching_of(read, "branching")
    read.done()
    return saved(request, desk.add_run(build_id, read.base(), first, ends, read.word("run_name"), branching), form)


@router.post("/runs/{run_id}/move")
def move(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """Another port for a run."""
    read = form.reader()
    sources = places(read, f"runs.{run_id}.sources")
    return saved(request, desk.move_run(build_id, read.base(), run_id, sources), form)


@router.post("/runs/{run_id}/split")
def split(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """A chain or a fork cut into two runs."""
    read = form.reader()
    keep = read.whole(f"runs.{run_id}.keep", 1, 40)
    read.done()
    return saved(request, desk.split_chain(build_id, read.base(), run_id, keep), form)


@router.post("/runs/{run_id}/branching")
def branch(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """A chain made a fork, or a fork a chain."""
    read = form.reader()
    branching = branching_of(read, f"runs.{run_id}.branching")
    read.done()
    return saved(request, desk.set_branching(build_id, read.base(), run_id, branching), form)


@router.post("/runs/{run_id}/optional")
def optional(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """Which optional cavities are wired."""
    read = form.reader()
    cavities = read.chosen(f"runs.{run_id}.optional")
    return saved(request, desk.set_optional(build_id, read.base(), run_id, cavities), form)


@router.post("/runs/{run_id}/remove")
def remove_run(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("parts")]
) -> Response:
    """Away with a run; the parts it fed stay."""
    opened = desk.remove_run(build_id, form.reader().base(), run_id)
    return saved(request, opened, without_panel(form, "parts"))


def places(read: Reader, name: str) -> tuple[tuple[str, str], ...]:
    """Sockets picked in a form, each as ``part/socket``."""
    words = " ".join(read.chosen(name)).split()
    return tuple((part, socket) for part, bar, socket in (word.partition("/") for word in words) if bar)
