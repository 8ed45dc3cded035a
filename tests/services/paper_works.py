"""Works that tests hand to a process of their own."""

import os
import time

from server.domain.errors import LoomwrightError
from server.services.papers import PaperDesk


def counting(tell, steps: int) -> bytes:
    for step in range(steps):
        tell(step, f"step {step}")
    return str(os.getpid()).encode()


def waiting(tell) -> bytes:
    """Tells its process and then nothing more, as a long section would."""
    tell(0, str(os.getpid()))
    time.sleep(60)
    return b""


def backwards(tell) -> bytes:
    for done in (2, 1, 0):
        tell(done, f"said {done}")
        time.sleep(0.3)
    return b"x"


def dying(tell) -> bytes:
    os._exit(7)


def refusing(tell) -> bytes:
    raise LoomwrightError("Install Pango.")


def failing(tell) -> bytes:
    raise ZeroDivisionError("by nought")


def planner() -> None:
    """A planner that has a job at work; prints the process of the job and waits to be killed."""
    from server.services.apart import apart

    desk = PaperDesk()
    job = desk.start("b", 1, "A4", 1, apart(waiting))
    while not (word := desk.look("b", job.id).word).isdigit():
        time.sleep(0.05)
    print(word, flush=True)
    time.sleep(60)


if __name__ == "__main__":
    planner()
