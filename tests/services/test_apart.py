"""Work in a process of its own: it is gone when it is stopped, when the desk closes, and when the planner is killed."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from server.domain.errors import LoomwrightError
from server.services import apart as apart_module
from server.services.apart import apart
from server.services.papers import FAULT, PaperDesk
from tests.services import paper_works

ROOT = Path(__file__).parents[2]


@pytest.fixture
def desk():
    made = PaperDesk()
    yield made
    made.close()


def lives(process: int) -> bool:
    """Whether a process is there and not merely waiting to be counted out."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def within(seconds: float, holds) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.02)
    return bool(holds())


def over(desk, job):
    assert within(20, lambda: desk.look("b", job.id).over)
    return desk.look("b", job.id)


def working(desk) -> tuple[object, int]:
    """A job at work, and its process."""
    job = desk.start("b", 1, "A4", 1, apart(paper_works.waiting))
    assert within(20, lambda: desk.look("b", job.id).word not in ("", "start"))
    return job, int(desk.look("b", job.id).word)


def test_what_is_made_comes_from_another_process_and_leaves_no_folder(desk, tmp_path, monkeypatch):
    monkeypatch.setattr(apart_module.tempfile, "tempdir", str(tmp_path))
    job = desk.start("b", 1, "A4", 4, apart(paper_works.counting, 3))
    assert over(desk, job).state == "done"
    process = int(desk.file("b", job.id))
    assert process != os.getpid()
    assert not lives(process)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform != "linux", reason="processes are looked up in /proc")
def test_a_job_is_stopped_within_a_second_even_within_a_section(desk):
    job, process = working(desk)
    desk.stop("b", job.id)
    assert within(1.0, lambda: desk.look("b", job.id).state == "stopped" and not lives(process))


@pytest.mark.skipif(sys.platform != "linux", reason="processes are looked up in /proc")
def test_the_process_is_gone_when_the_desk_is_closed():
    desk = PaperDesk()
    _, process = working(desk)
    desk.close()
    assert not lives(process)


@pytest.mark.skipif(sys.platform != "linux", reason="processes are looked up in /proc")
def test_the_process_is_gone_when_the_planner_is_killed():
    words = [sys.executable, "-m", "tests.services.paper_works"]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as planner:
        process = int(planner.stdout.readline())
        assert lives(process)
        planner.kill()
    assert within(2.0, lambda: not lives(process))


def test_progress_never_goes_backwards(desk):
    job, seen = desk.start("b", 1, "A4", 3, apart(paper_works.backwards)), []

    def looked():
        found = desk.look("b", job.id)
        seen.append((found.done, found.word))
        return found.over

    assert within(20, looked)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert "said 0" in [word for _, word in seen]


def test_a_process_that_dies_is_told_as_a_failure_and_logged(desk, caplog):
    held = over(desk, desk.start("b", 1, "A4", 1, apart(paper_works.dying)))
    assert (held.state, held.failure) == ("failed", FAULT)
    assert "status 7" in caplog.text


def test_a_fault_in_the_process_is_logged_with_its_insides(desk, caplog):
    held = over(desk, desk.start("b", 1, "A4", 1, apart(paper_works.failing)))
    assert (held.state, held.failure) == ("failed", FAULT)
    assert "by nought" in caplog.text


def test_what_a_person_can_mend_is_told_in_its_own_words(desk):
    held = over(desk, desk.start("b", 1, "A4", 1, apart(paper_works.refusing)))
    assert (held.state, held.failure) == ("failed", "Install Pango.")


def test_a_process_that_cannot_be_started_is_told_in_words(monkeypatch):
    def refuses(self):
        raise OSError(11, "Resource temporarily unavailable")

    monkeypatch.setattr("multiprocessing.process.BaseProcess.start", refuses)
    with pytest.raises(LoomwrightError, match="could not start one: Resource temporarily"):
        apart(paper_works.counting, 1)(lambda done, word: None)
