"""The panel of papers: what to set on which paper, how far it is, and what can be fetched."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.documents.pdf import PAPERS
from server.services.opened import Opened
from server.services.papers import Progress
from server.web.paper_sections import PARTS
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import run_title

SIZES: tuple[tuple[str, str], ...] = tuple(
    (name, f"{name}, {formats.number(wide)} × {formats.number(high)} mm") for name, (wide, high) in PAPERS.items()
)
"""Each paper with its size, for a list to pick from."""
STATES = {"done": ("✓", "ready", "done"), "stopped": ("–", "stopped", "open"), "failed": ("■", "failed", "stop")}
"""Mark, word and tone of what is over."""


@dataclass(frozen=True, slots=True)
class JobView:
    """One set of papers: being set, or over."""

    id: str
    title: str
    href: str
    file: str
    """Address of the file; empty until it is there."""
    stop: str
    """Address that stops it; empty once it is over."""
    mark: str
    state: str
    tone: str
    words: str
    done: str
    steps: str
    """For the bar: how much of what is done."""


@dataclass(frozen=True, slots=True)
class RunPapers:
    """Links to the papers of one run by itself."""

    number: int
    title: str
    links: tuple[tuple[str, str], ...]
    """Name of the paper's size, and the address."""


@dataclass(frozen=True, slots=True)
class PapersPanel:
    """Papers as PDF."""

    base: int
    href: str
    revision: int
    metered: bool
    paper: Field
    parts: Field
    jobs: tuple[JobView, ...]
    busy: bool
    runs: tuple[RunPapers, ...]


def papers_panel(opened: Opened, base: int, fields: Fields, jobs: Sequence[Progress]) -> PapersPanel:
    """The view of the panel.

    Args:
        opened: The build as it stands.
        base: Revision that is set.
        fields: Makes the fields with what was ticked last.
        jobs: What was asked for of this build, the newest first.
    """
    href = f"/builds/{opened.build_id}/papers"
    return PapersPanel(
        base=base,
        href=href,
        revision=base,
        metered=opened.plan.metered,
        paper=fields.choice("paper", "Paper", "A4", SIZES),
        parts=fields.choices("parts", "What to set behind the cover", PARTS, tuple(PARTS.items())),
        jobs=tuple(job_view(job) for job in jobs),
        busy=any(not job.over for job in jobs),
        runs=tuple(
            RunPapers(run.number, run_title(run), tuple((name, _run_href(opened, run.id, name)) for name in PAPERS))
            for run in opened.plan.runs
        ),
    )


def job_view(job: Progress) -> JobView:
    """The view of one job.

    Args:
        job: How far it is.
    """
    href = f"/builds/{job.build_id}/papers/jobs/{job.id}"
    mark, state, tone = STATES.get(job.state, ("○", "being set", "open"))
    return JobView(
        id=f"job-{job.id}",
        title=job.title,
        href=href,
        file=f"{href}.pdf" if job.state == "done" else "",
        stop="" if job.over else f"{href}/stop",
        mark=mark,
        state=state,
        tone=tone,
        words=_words(job),
        done=str(job.done),
        steps=str(job.steps),
    )


def told(job: Progress) -> str:
    """What a job came to, in a sentence; empty while it works.

    Args:
        job: How far it is.
    """
    words = {"done": "Papers are ready to be saved.", "stopped": "Papers stopped.", "failed": "No papers were made."}
    return words.get(job.state, "")


def _words(job: Progress) -> str:
    if job.state == "waits":
        return "Waits until other papers are set."
    if job.state == "works":
        return f"{job.done} of {job.steps} done: now {job.word}."
    if job.state == "stopped":
        return f"Stopped after {job.done} of {job.steps}; nothing was kept."
    return job.failure


def _run_href(opened: Opened, run_id: str, paper: str) -> str:
    return f"/builds/{opened.build_id}/runs/{run_id}/papers.pdf?paper={paper}"
