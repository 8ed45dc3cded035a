"""Papers as PDF: setting a build's papers in the background, following them, and the papers of one run at once."""

import re
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from server.documents.pdf import PAPERS
from server.domain.errors import NotFoundError
from server.services.apart import apart
from server.services.papers import PaperDesk, Progress
from server.web import rendering
from server.web.paper_binding import Binder, bound
from server.web.paper_sections import PARTS, Order, run_papers
from server.web.routes.buys import shop_of
from server.web.routes.exports import file_response
from server.web.screen import Bench, Desk, Outcome, Posted, Scene, Stock, address_of, panel, posted, show, wants_panel
from server.web.views.papers import PapersPanel, job_view, papers_panel, told

PDF_TYPE = "application/pdf"
_JOB = re.compile(r"[0-9a-f]{1,32}")
"""Id of a job, which a header may name."""

router = APIRouter(prefix="/builds/{build_id}")


def papers_of(request: Request) -> PaperDesk:
    """The desk where papers of this application are set."""
    desk: PaperDesk = request.app.state.papers
    return desk


Papers = Annotated[PaperDesk, Depends(papers_of)]


@panel("papers")
def papers(scene: Scene) -> PapersPanel:
    """The view of the panel."""
    return papers_panel(scene.opened, scene.base, scene.fields, scene.papers.jobs(scene.opened.build_id))


@router.post("/papers")
def start(
    request: Request,
    desk: Desk,
    bench: Bench,
    stock: Stock,
    made: Papers,
    build_id: str,
    form: Annotated[Posted, posted("papers")],
) -> Response:
    """Start setting what is ticked, of the revision that the form shows."""
    read = form.reader()
    opened, order = desk.open(build_id, read.base()), _order(request, form)
    shop = shop_of(bench, stock)
    title = f"{order.paper}, revision {opened.revision}: {', '.join(PARTS[part].lower() for part in order.parts)}"
    work = apart(bound, opened.bare(), shop, order)
    job = made.start(build_id, opened.revision, title, Binder(opened, shop, order).steps, work)
    if not wants_panel(request):
        return RedirectResponse(job_view(job).href, status_code=303)
    return show(request, desk.open(build_id), "papers", Outcome(message="Papers are being set."))


@router.get("/papers/jobs/{job_id}.pdf")
def fetch(desk: Desk, made: Papers, build_id: str, job_id: str) -> Response:
    """The finished file."""
    job = made.look(build_id, job_id)
    paper = job.title.partition(",")[0].lower()
    return file_response(made.file(build_id, job_id), PDF_TYPE, f"papers-{paper}-{build_id}-r{job.revision}.pdf")


@router.get("/papers/jobs/{job_id}")
def follow(request: Request, desk: Desk, made: Papers, build_id: str, job_id: str) -> Response:
    """How far a job is: what moves of it for the script, the whole panel without one."""
    if wants_panel(request):
        return _moved(made, build_id, job_id)
    made.look(build_id, job_id)
    return show(request, desk.open(build_id), "papers")


@router.post("/papers/jobs/{job_id}/stop")
def stop(
    request: Request, desk: Desk, made: Papers, build_id: str, job_id: str, form: Annotated[Posted, posted("papers")]
) -> Response:
    """Stop a job."""
    job = made.stop(build_id, job_id)
    if not wants_panel(request):
        return RedirectResponse(job_view(job).href, status_code=303)
    return show(request, desk.open(build_id), "papers", Outcome(message=told(job) or "Stopping."))


@router.get("/runs/{run_id}/papers.pdf")
def of_run(request: Request, desk: Desk, build_id: str, run_id: str, paper: str = "A4") -> Response:
    """The papers of one run, set at once."""
    if paper not in PAPERS:
        raise NotFoundError(f"Papers are {', '.join(PAPERS)}.")
    opened = desk.open(build_id)
    data = run_papers(opened, run_id, Order(paper, tuple(PARTS), address_of(request)))
    number = next(run.number for run in opened.plan.runs if run.id == run_id)
    return file_response(data, PDF_TYPE, f"run-{number}-{paper.lower()}-{build_id}-r{opened.revision}.pdf")


def _order(request: Request, form: Posted) -> Order:
    """What is asked for.

    Raises:
        InvalidInputError: no such paper, or nothing is ticked.
    """
    read = form.reader()
    paper = read.one_of("paper", tuple(PAPERS))
    chosen = read.chosen("parts")
    if not chosen or not set(chosen) <= set(PARTS):
        read.problem("parts", "Tick at least one of the list.")
    read.done()
    return Order(paper, tuple(part for part in PARTS if part in chosen), address_of(request))


def _moved(made: PaperDesk, build_id: str, job_id: str) -> Response:
    """What a script that asks again and again puts in the old one's place: the bar, or all of it once it is over."""
    try:
        job: Progress | None = made.look(build_id, job_id)
    except NotFoundError:
        if not _JOB.fullmatch(job_id):
            raise
        job = None
    if job is not None and not job.over:
        return rendering.page("parts/papers_bar.html", job=job_view(job))
    shown = job_view(job) if job else None
    response = rendering.page("parts/papers_over.html", job=shown, message=told(job) if job else "")
    response.headers.update({"HX-Retarget": f"#job-{job_id}", "HX-Reswap": "outerHTML"})
    return response
