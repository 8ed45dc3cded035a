"""Jobs that set papers: how far they are, how they stop, how they fail, and how little is kept of them."""

import threading
import time

import pytest

from server.domain.errors import InvalidInputError, LoomwrightError, NotFoundError
from server.services.papers import FAULT, PaperDesk


@pytest.fixture
def desk():
    made = PaperDesk(kept=2)
    yield made
    made.close()


def over(desk: PaperDesk, job, build: str = "b"):
    """The job once nothing more comes of it."""
    for _ in range(500):
        found = desk.look(build, job.id)
        if found.over:
            return found
        time.sleep(0.01)
    raise AssertionError(f"still {found}")


class Step:
    """One thing to do, and a word for it."""

    def __init__(self, word, act):
        self.word, self.act = word, act


def doing(steps, finish):
    """How many steps, and work that does them and then makes the file."""

    def work(tell):
        for place, step in enumerate(steps):
            tell(place, step.word)
            step.act()
        tell(len(steps), "the file")
        return finish(lambda word: tell(len(steps), word))

    return len(steps) + 1, work


class Gate:
    """A step that says when it is reached, and waits to be let on."""

    def __init__(self):
        self.reached, self.go = threading.Event(), threading.Event()

    def act(self):
        self.reached.set()
        assert self.go.wait(5)


def test_steps_are_done_in_order_and_the_file_is_what_finish_makes(desk):
    done = []
    steps = [Step(word, lambda word=word: done.append(word)) for word in ("cover", "cuts", "tools")]
    job = desk.start("b", 3, "A4", *doing(steps, lambda tell: " ".join(done).encode()))
    held = over(desk, job)
    assert (held.state, held.done, held.steps, held.word, held.revision) == ("done", 4, 4, "", 3)
    assert desk.file("b", job.id) == b"cover cuts tools"


def test_progress_tells_how_many_steps_are_done_and_which_is_being_done(desk):
    gate = Gate()
    job = desk.start("b", 1, "A4", *doing([Step("cover", lambda: None), Step("cut list", gate.act)], lambda tell: b"x"))
    assert gate.reached.wait(5)
    held = desk.look("b", job.id)
    # By hand: one of two steps is behind it, and writing the file is the third.
    assert (held.state, held.done, held.steps, held.word, held.over) == ("works", 1, 3, "cut list", False)
    gate.go.set()
    assert over(desk, job).state == "done"


def test_a_job_is_stopped_before_its_next_step_and_leaves_no_file(desk):
    gate, later = Gate(), []
    job = desk.start(
        "b", 1, "A4", *doing([Step("one", gate.act), Step("two", lambda: later.append(1))], lambda tell: b"x")
    )
    assert gate.reached.wait(5)
    desk.stop("b", job.id)
    gate.go.set()
    held = over(desk, job)
    assert (held.state, held.done, later) == ("stopped", 0, [])
    with pytest.raises(NotFoundError):
        desk.file("b", job.id)


def test_the_writing_of_the_file_can_be_stopped_between_two_pages(desk):
    gate, written = Gate(), []

    def finish(tell):
        for page in range(3):
            tell(f"page {page + 1} of 3")
            written.append(page)
            if page == 0:
                gate.act()
        return b"x"

    job = desk.start("b", 1, "A4", *doing([], finish))
    assert gate.reached.wait(5)
    assert desk.look("b", job.id).word == "page 1 of 3"
    desk.stop("b", job.id)
    gate.go.set()
    assert (over(desk, job).state, written) == ("stopped", [0])


def test_a_build_has_one_job_at_a_time_and_another_build_waits_its_turn(desk):
    gate = Gate()
    first = desk.start("b", 1, "A4", *doing([Step("one", gate.act)], lambda tell: b"x"))
    assert gate.reached.wait(5)
    with pytest.raises(InvalidInputError, match="being set"):
        desk.start("b", 1, "A4", *doing([], lambda tell: b"y"))
    other = desk.start("c", 1, "A4", *doing([], lambda tell: b"z"))
    assert desk.look("c", other.id).state == "waits"
    gate.go.set()
    assert (over(desk, first).state, over(desk, other, "c").state) == ("done", "done")
    assert desk.start("b", 1, "A4", *doing([], lambda tell: b"y")).steps == 1


def test_a_job_that_waits_is_stopped_at_once(desk):
    gate = Gate()
    desk.start("b", 1, "A4", *doing([Step("one", gate.act)], lambda tell: b"x"))
    assert gate.reached.wait(5)
    other = desk.start("c", 1, "A4", *doing([Step("two", lambda: pytest.fail("was stopped"))], lambda tell: b"z"))
    assert desk.stop("c", other.id).state == "stopped"
    gate.go.set()
    # Behind it in the line, so that its own turn has come and gone once this one is over.
    over(desk, desk.start("d", 1, "A4", *doing([], lambda tell: b"y")), "d")
    assert desk.look("c", other.id).state == "stopped"
    with pytest.raises(NotFoundError):
        desk.file("c", other.id)


def test_a_failure_that_a_person_can_mend_is_told_in_its_own_words(desk):
    def missing():
        raise LoomwrightError("Install Pango.")

    held = over(desk, desk.start("b", 1, "A4", *doing([Step("cover", missing)], lambda tell: b"x")))
    assert (held.state, held.failure) == ("failed", "Install Pango.")


def test_a_fault_of_the_planner_is_told_without_its_insides_and_logged(desk, caplog):
    held = over(desk, desk.start("b", 1, "A4", *doing([Step("cover", lambda: 1 // 0)], lambda tell: b"x")))
    assert (held.state, held.failure) == ("failed", FAULT)
    assert "ZeroDivisionError" in caplog.text


def test_a_job_belongs_to_its_build(desk):
    job = desk.start("b", 1, "A4", *doing([], lambda tell: b"x"))
    over(desk, job)
    for ask in (desk.look, desk.stop, desk.file):
        with pytest.raises(NotFoundError):
            ask("c", job.id)
    assert desk.jobs("c") == ()


def test_only_so_many_files_are_kept_the_newest(desk):
    made = [desk.start("b", n, "A4", *doing([], lambda tell, n=n: bytes([n]))) for n in (1,)]
    over(desk, made[0])
    for n in (2, 3):
        made.append(desk.start("b", n, "A4", *doing([], lambda tell, n=n: bytes([n]))))
        over(desk, made[-1])
    assert [job.revision for job in desk.jobs("b")] == [3, 2]
    with pytest.raises(NotFoundError, match="set them again"):
        desk.file("b", made[0].id)


def test_closing_stops_the_job_that_works_and_those_that_wait():
    desk, gate, later = PaperDesk(), Gate(), []
    desk.start("b", 1, "A4", *doing([Step("one", gate.act), Step("two", lambda: later.append(1))], lambda tell: b"x"))
    assert gate.reached.wait(5)
    desk.start("c", 1, "A4", *doing([Step("three", lambda: later.append(2))], lambda tell: b"x"))
    closing = threading.Thread(target=desk.close)
    closing.start()
    gate.go.set()
    closing.join(5)
    assert not closing.is_alive()
    assert (later, desk.jobs("b"), desk.jobs("c")) == ([], (), ())
