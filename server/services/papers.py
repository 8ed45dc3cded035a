"""Papers that take a while: jobs that are followed, stopped and fetched, one working at a time.

The desk knows nothing of pages. It is handed work that tells how far it is and answers a file; ``apart`` makes it
of a function, run in a process of its own. One job works at a time, so that only one set of papers is ever in
memory; a build has one job at most that is not over. What was made is kept until newer files push it out or the planner
stops.
"""

import logging
import secrets
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Literal

from server.domain.errors import InvalidInputError, LoomwrightError, NotFoundError, Problem
from server.services.apart import Tell

KEPT = 6
"""Jobs that are over and kept, with their files, of all builds together."""
WAITING_MOST = 8
"""Jobs that may wait or work at a time."""
FAULT = "The planner failed at this. Its terminal says where it failed; nothing of the build was changed."

Work = Callable[[Tell], bytes]
"""Makes the file; calls what it is handed with the steps behind it and the next one's word."""
JobState = Literal["waits", "works", "done", "stopped", "failed"]
_log = logging.getLogger(__name__)


class _StopError(Exception):
    """The job is to stop."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a job is."""

    id: str
    build_id: str
    revision: int
    title: str
    state: JobState
    done: int
    """Steps behind it."""
    steps: int
    """All steps, the last of which writes the file."""
    word: str
    """What is being done; empty once it is over."""
    failure: str
    """What went wrong, in words; empty for nothing."""

    @property
    def over(self) -> bool:
        """Whether nothing more will come of it."""
        return self.state in ("done", "stopped", "failed")


@dataclass
class _Job:
    """A job and what it holds."""

    progress: Progress
    work: Work | None
    """``None`` once it is over."""
    stop: threading.Event = field(default_factory=threading.Event)
    file: bytes = b""


class PaperDesk:
    """Starts, tells, stops and forgets jobs."""

    def __init__(self, kept: int = KEPT) -> None:
        """Open the desk.

        Args:
            kept: Jobs that are over and kept.
        """
        self._kept = kept
        self._lock = threading.Lock()
        self._jobs: dict[str, _Job] = {}
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="papers")

    def start(self, build_id: str, revision: int, title: str, steps: int, work: Work) -> Progress:
        """Put a job behind those that wait.

        Args:
            build_id: The build that it is about.
            revision: The build's revision that is set.
            title: What it makes, in words.
            steps: How many steps it has, the writing of the file among them.
            work: Makes the file.

        Raises:
            InvalidInputError: the build has a job that is not over, or too many wait.
        """
        with self._lock:
            running = [job.progress for job in self._jobs.values() if not job.progress.over]
            if any(held.build_id == build_id for held in running):
                raise InvalidInputError(
                    (Problem("parts", "Papers of this build are being set: wait for them, or stop them first."),)
                )
            if len(running) >= WAITING_MOST:
                raise InvalidInputError((Problem("parts", "Too many papers wait to be set: try again in a while."),))
            ident = secrets.token_hex(6)
            waits = Progress(ident, build_id, revision, title, "waits", 0, steps, "", "")
            job = _Job(waits, work)
            self._jobs[ident] = job
        self._worker.submit(self._work, job)
        return job.progress

    def look(self, build_id: str, job_id: str) -> Progress:
        """How far a job is.

        Raises:
            NotFoundError: the build has no such job, or it is forgotten.
        """
        return self._job(build_id, job_id).progress

    def jobs(self, build_id: str) -> tuple[Progress, ...]:
        """The jobs of a build, the newest first."""
        with self._lock:
            found = [job.progress for job in self._jobs.values() if job.progress.build_id == build_id]
        return tuple(reversed(found))

    def stop(self, build_id: str, job_id: str) -> Progress:
        """Stop a job when it next tells how far it is, at most a moment later; one that is over stays as it is.

        Raises:
            NotFoundError: the build has no such job, or it is forgotten.
        """
        job = self._job(build_id, job_id)
        job.stop.set()
        with self._lock:
            if job.progress.state == "waits":
                self._over(job, "stopped")
        return job.progress

    def file(self, build_id: str, job_id: str) -> bytes:
        """What a job made.

        Raises:
            NotFoundError: the build has no such job, it is forgotten, or it has made nothing.
        """
        job = self._job(build_id, job_id)
        if job.progress.state != "done":
            raise NotFoundError("These papers are not made.")
        return job.file

    def close(self) -> None:
        """Stop every job and wait until none works."""
        with self._lock:
            for job in self._jobs.values():
                job.stop.set()
        self._worker.shutdown(wait=True, cancel_futures=True)
        with self._lock:
            self._jobs.clear()

    def _job(self, build_id: str, job_id: str) -> _Job:
        with self._lock:
            job = self._jobs.get(job_id)
        if job is None or job.progress.build_id != build_id:
            raise NotFoundError("There are no such papers any more: set them again.")
        return job

    def _work(self, job: _Job) -> None:
        """Do a job, unless it is stopped or something fails."""
        with self._lock:
            work = job.work
            if work is None:  # Stopped while it waited.
                return
            job.progress = replace(job.progress, state="works", word="start")
        try:
            made = work(lambda done, word: self._tell(job, done, word))
        except _StopError:
            self._ended(job, "stopped")
        except LoomwrightError as error:
            self._ended(job, "failed", failure=str(error))
        except Exception:  # A thread has nobody above it that would say what failed.
            _log.exception("papers of build %s failed", job.progress.build_id)
            self._ended(job, "failed", failure=FAULT)
        else:
            self._ended(job, "done", file=made)

    def _tell(self, job: _Job, done: int, word: str) -> None:
        """Say what comes next.

        Raises:
            _StopError: the job is to stop.
        """
        with self._lock:
            if job.stop.is_set():
                raise _StopError
            job.progress = replace(job.progress, state="works", done=max(done, job.progress.done), word=word)

    def _ended(self, job: _Job, state: JobState, *, file: bytes = b"", failure: str = "") -> None:
        with self._lock:
            job.file = file
            self._over(job, state, failure)

    def _over(self, job: _Job, state: JobState, failure: str = "") -> None:
        """Note the end of a job, let go of what it worked with, and forget the oldest that are over."""
        done = job.progress.steps if state == "done" else job.progress.done
        job.progress = replace(job.progress, state=state, done=done, word="", failure=failure)
        job.work = None
        over = [ident for ident, held in self._jobs.items() if held.progress.over]
        for ident in over[: max(0, len(over) - self._kept)]:
            del self._jobs[ident]
