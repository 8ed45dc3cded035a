"""Work in a process of its own: other pages stay quick beside it, its memory is given back, and it is ended at once.

What is to be done is handed over pickled, so it must be a function of a module. The process starts afresh ("spawn")
and shares nothing with this one: no engine, no thread, no lock. It tells how far it is through a pipe and leaves what
it made in a file of the system's temporary folder. It ends with the process that started it, however that one ends.
"""

import multiprocessing
import os
import shutil
import signal
import tempfile
import threading
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Concatenate, ParamSpec

from server.domain.errors import LoomwrightError

Tell = Callable[[int, str], None]
"""Says how many steps are behind the work and what comes next; what it raises stops the work."""
LOOK_S = 0.1
"""How often it is asked whether the work is to stop. [s]"""
END_S = 1.0
"""How long a process that is told to end may take before it is killed. [s]"""
NO_PROCESS = "Papers are set in a process of their own, and this computer could not start one: {why}."

P = ParamSpec("P")


class LostError(Exception):
    """The process failed or died; says how."""


def apart(
    work: Callable[Concatenate[Tell, P], bytes], *arguments: P.args, **named: P.kwargs
) -> Callable[[Tell], bytes]:
    """Work that will be done in a process of its own.

    Args:
        work: A function of a module; is handed what to call with its progress.
        arguments: Handed to it as well; must be picklable.
        named: As well, by their names.

    Returns:
        Does it and answers what it made. Raises ``LoomwrightError`` in the words of the work, or where no process can
        be started; ``LostError`` when the process failed or died; and what ``tell`` raises, once the process is gone.
    """

    def run(tell: Tell) -> bytes:
        folder = Path(tempfile.mkdtemp(prefix="loomwright-papers-"))
        try:
            here, there = multiprocessing.get_context("spawn").Pipe()
            process = _started(there, folder, (work, arguments, named))
            there.close()
            try:
                return _followed(process, here, folder / "made", tell)
            finally:
                _ended(process)
                here.close()
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    return run


def _started(there: Connection, folder: Path, job: object) -> BaseProcess:
    process = multiprocessing.get_context("spawn").Process(
        target=_inside, args=(there, folder, job), name="papers", daemon=True
    )
    try:
        process.start()
    except OSError as error:
        raise LoomwrightError(NO_PROCESS.format(why=error.strerror or error)) from error
    return process


def _followed(process: BaseProcess, pipe: Connection, made: Path, tell: Tell) -> bytes:
    """Pass on what the process tells until it is done."""
    done, word = 0, "start"
    while True:
        tell(done, word)
        try:
            if not pipe.poll(LOOK_S):
                continue
            kind, number, text = pipe.recv()
        except (EOFError, OSError) as error:
            process.join(END_S)
            raise LostError(f"the process of papers ended by itself, status {process.exitcode}") from error
        if kind == "done":
            return made.read_bytes()
        if kind == "refused":
            raise LoomwrightError(text)
        if kind == "failed":
            raise LostError(text)
        done, word = max(done, number), text


def _ended(process: BaseProcess) -> None:
    """Make sure that the process is gone."""
    if process.is_alive():
        process.terminate()
    process.join(END_S)
    if process.is_alive():
        process.kill()
        process.join()


def _inside(
    pipe: Connection,
    folder: Path,
    job: tuple[Callable[..., bytes], tuple[object, ...], dict[str, object]],
) -> None:
    """What the process does."""
    # Ctrl-C in the terminal reaches it too; the planner ends it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_watch, args=(pipe, folder), daemon=True).start()
    work, arguments, named = job
    try:
        made = work(lambda done, word: pipe.send(("works", done, word)), *arguments, **named)
        (folder / "made").write_bytes(made)
        pipe.send(("done", 0, ""))
    except LoomwrightError as error:
        pipe.send(("refused", 0, str(error)))
    except Exception:  # Told to the planner, which logs it.
        pipe.send(("failed", 0, traceback.format_exc()))


def _watch(pipe: Connection, folder: Path) -> None:
    """End this process when the planner is gone: nothing is ever sent to it, so the pipe only ever closes."""
    try:
        pipe.recv()
    except (EOFError, OSError):
        shutil.rmtree(folder, ignore_errors=True)
        os._exit(1)
