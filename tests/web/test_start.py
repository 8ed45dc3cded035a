"""The command line as a person runs it: a real process, a real port, a real signal."""

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from decimal import Decimal
from pathlib import Path

import pytest

from server.config import ROOT, Settings
from server.store.catalogue_edits import set_catalogue_value
from server.store.database import open_database, writing

EXAMPLE = sorted(Settings().examples_folder.glob("*.json"))[0]
COMMAND = [sys.executable, "-m", "server"]
ENVIRONMENT = {**os.environ, "PYTHONUNBUFFERED": "1"}


class Planner:
    """A running planner: its process and where it says that it is."""

    def __init__(self, process: subprocess.Popen[str], said: str) -> None:
        self.process = process
        self.said = said
        found = re.search(r"http://127\.0\.0\.1:([0-9]+)/", said)
        assert found, said
        self.port = int(found.group(1))

    def get(self, path: str, host: str = "") -> tuple[int, str]:
        """Status and text of an answer, asked for under a host name of one's own choice."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.request("GET", path, headers={"Host": host or f"127.0.0.1:{self.port}"})
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer.status, text

    def stop(self, number: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        """Exit status after a signal, and what was said on standard error."""
        self.process.send_signal(number)
        _, complaint = self.process.communicate(timeout=30)
        return self.process.returncode, complaint


@contextmanager
def planner(folder: Path, *arguments: str) -> Iterator[Planner]:
    """A planner with its builds in ``folder``, stopped at the end whatever happens."""
    command = [*COMMAND, "--no-browser", "--data", str(folder), *arguments]
    process = subprocess.Popen(
        command, cwd=ROOT, env=ENVIRONMENT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    try:
        assert process.stdout is not None
        said = ""
        while "http://" not in said:
            line = process.stdout.readline()
            assert line, process.stderr.read() if process.stderr else ""
            said += line
        yield Planner(process, said)
    finally:
        with suppress(ProcessLookupError):
            process.kill()
        process.communicate(timeout=30)


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Planner]:
    with planner(tmp_path_factory.mktemp("running") / "new" / "folder", "--port", "0") as made:
        yield made


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command line run to its end."""
    return subprocess.run(
        [*COMMAND, *arguments],
        cwd=ROOT,
        env={**ENVIRONMENT, **environment},
        capture_output=True,
        timeout=60,
        check=False,
    )


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that another program listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield int(other.getsockname()[1])


def test_the_address_that_is_printed_shows_the_first_screen(running: Planner) -> None:
    status, text = running.get("/")
    assert (status, "Loomwright" in text) == (200, True)


def test_a_data_folder_that_is_missing_is_made(running: Planner) -> None:
    folder = re.search(r"your builds are in (.+)\)", running.said)
    assert folder is not None
    assert Path(folder.group(1)).is_dir()


def test_a_foreign_host_name_is_refused_by_the_running_planner(running: Planner) -> None:
    assert running.get("/", host="evil.example")[0] == 421


def test_a_page_may_be_asked_for_as_localhost(running: Planner) -> None:
    assert running.get("/", host=f"localhost:{running.port}")[0] == 200


def test_the_planner_listens_on_this_computer_only(running: Planner) -> None:
    # 127.0.0.2 is another address of this computer on Linux; a socket bound to every address would answer there.
    with socket.socket() as visitor:
        visitor.settimeout(5)
        assert visitor.connect_ex(("127.0.0.2", running.port)) != 0


def test_a_body_of_more_than_two_megabytes_is_refused_in_words(running: Planner) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", running.port, timeout=30)
    connection.request("POST", "/api/plan", body=b" " * 3_000_000)
    answer = connection.getresponse()
    assert (answer.status, "larger than 2 MB" in answer.read().decode()) == (413, True)


def test_a_body_in_chunks_of_more_than_two_megabytes_is_refused_in_words(running: Planner) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", running.port, timeout=30)
    connection.request("POST", "/api/plan", body=iter([b" " * 100_000] * 30), encode_chunked=True)
    answer = connection.getresponse()
    assert (answer.status, "larger than 2 MB" in answer.read().decode()) == (413, True)


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stopped_planner_ends_well_and_quietly(tmp_path: Path, number: signal.Signals) -> None:
    with planner(tmp_path, "--port", "0") as made:
        made.get("/")
        assert made.stop(number) == (0, "")


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_an_open_connection_does_not_keep_a_stopped_planner_alive(tmp_path: Path) -> None:
    with planner(tmp_path, "--port", "0") as made:
        with socket.create_connection(("127.0.0.1", made.port)) as visitor:
            visitor.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            visitor.recv(100)
            # Waiting for the visitor to leave would run into the time that ``stop`` allows.
            status = made.stop()[0]
        assert status == 0


def test_builds_are_there_again_after_a_restart(tmp_path: Path) -> None:
    with planner(tmp_path, "--port", "0") as first:
        connection = http.client.HTTPConnection("127.0.0.1", first.port, timeout=30)
        connection.request("POST", "/api/builds", body=json.dumps({"name": "Kept"}))
        connection.getresponse().read()
        first.process.kill()
    with planner(tmp_path, "--port", "0") as second:
        names = [entry["name"] for entry in json.loads(second.get("/api/builds")[1])["builds"]]
    assert names == ["Kept"]


def test_a_named_port_that_is_taken_is_refused_with_the_reason(tmp_path: Path, taken: int) -> None:
    ended = run("--no-browser", "--data", str(tmp_path), "--port", str(taken))
    assert (ended.returncode, f"Port {taken} is taken" in ended.stderr.decode()) == (2, True)


def test_the_usual_port_when_taken_gives_way_to_the_next_free(tmp_path: Path) -> None:
    with socket.socket() as other:
        # Whoever holds the usual port, it is taken now.
        with suppress(OSError):
            other.bind(("127.0.0.1", 8765))
            other.listen()
        with planner(tmp_path) as made:
            assert (made.port > 8765, "Port 8765 is taken" in made.said) == (True, True)


@pytest.mark.parametrize("port", ["x", "-1", "65536", "80.5", "٣"])
def test_a_port_that_is_none_is_refused(port: str) -> None:
    assert run("--port", port).returncode == 2


def test_a_data_folder_that_is_a_file_is_refused_with_the_reason(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    ended = run("--no-browser", "--port", "0", "--data", str(blocked))
    assert (ended.returncode, str(blocked) in ended.stderr.decode(), b"Traceback" in ended.stderr) == (2, True, False)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="needs a folder that even an administrator cannot write to")
def test_a_data_folder_that_cannot_be_written_is_refused_with_the_reason() -> None:
    ended = run("--no-browser", "--port", "0", "--data", "/proc/loomwright")
    assert (ended.returncode, b"/proc/loomwright" in ended.stderr, b"Traceback" in ended.stderr) == (2, True, False)


def test_a_broken_database_is_refused_with_the_reason(tmp_path: Path) -> None:
    Settings(data=tmp_path).database.write_bytes(b"no database at all" * 100)
    ended = run("--no-browser", "--port", "0", "--data", str(tmp_path))
    assert (ended.returncode, b"Traceback" in ended.stderr) == (2, False)


def test_a_plan_is_printed_as_json(tmp_path: Path) -> None:
    ended = run("plan", str(EXAMPLE))
    assert (ended.returncode, json.loads(ended.stdout)["format"]) == (0, "loomwright-plan")


def test_a_plan_is_the_same_bytes_as_from_the_running_planner(running: Planner) -> None:
    # Property, as promised to people who compare the two.
    connection = http.client.HTTPConnection("127.0.0.1", running.port, timeout=60)
    connection.request("POST", "/api/plan", body=EXAMPLE.read_bytes())
    assert connection.getresponse().read() == run("plan", str(EXAMPLE)).stdout


def test_a_plan_is_the_same_bytes_in_any_process() -> None:
    # Property: the order of sets and maps, which Python varies by this seed, does not show.
    plans = {run("plan", str(EXAMPLE), PYTHONHASHSEED=seed).stdout for seed in ("1", "2", "3")}
    assert len(plans) == 1


def test_a_document_may_come_from_standard_input() -> None:
    ended = subprocess.run(
        [*COMMAND, "plan", "-"], cwd=ROOT, input=EXAMPLE.read_bytes(), capture_output=True, timeout=60, check=False
    )
    assert ended.stdout == run("plan", str(EXAMPLE)).stdout


def test_printing_a_plan_makes_no_data_folder(tmp_path: Path) -> None:
    run("plan", str(EXAMPLE), HOME=str(tmp_path), XDG_DATA_HOME=str(tmp_path / "data"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"[", "cut short"),
        (b'{"format": "loomwright-build", "version": 9, "build": {}}', "this planner reads version 1"),
        (b"\xff\xfe", "not UTF-8"),
        (b'{"format": "loomwright-build", "version": 1, "build": {"name": "a", "supply": "nobodys"}}', "nobodys"),
    ],
)
def test_a_document_that_cannot_be_planned_is_refused_with_the_reason(
    tmp_path: Path, content: bytes, reason: str
) -> None:
    document = tmp_path / "build.json"
    document.write_bytes(content)
    ended = run("plan", str(document))
    assert (ended.returncode, ended.stdout, reason in ended.stderr.decode()) == (2, b"", True)


@pytest.mark.parametrize("missing", [("plan", "nowhere.json"), ("plan", "."), ("plan",), ("paint",)])
def test_a_document_that_is_not_there_is_refused(missing: Sequence[str]) -> None:
    ended = run(*missing)
    assert (ended.returncode, b"Traceback" in ended.stderr, ended.stderr != b"") == (2, False, True)


@pytest.mark.skipif(os.name != "posix", reason="pipes as POSIX has them")
def test_a_reader_that_has_enough_is_no_fault() -> None:
    script = f'"{sys.executable}" -m server plan "{EXAMPLE}" | head -c 1'
    ended = subprocess.run(["sh", "-c", script], cwd=ROOT, capture_output=True, timeout=60, check=False)
    assert (ended.stdout, ended.stderr) == (b"{", b"")


def test_a_plan_with_a_data_folder_goes_by_the_prices_kept_there(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    with planner(folder, "--port", "0"):
        pass
    engine = open_database(Settings(data=folder).database)
    with writing(engine) as session:
        set_catalogue_value(session, "packs", "wire-awg22-plain-10000", "price", "9999")
    engine.dispose()
    shipped, kept = run("plan", str(EXAMPLE)), run("--data", str(folder), "plan", str(EXAMPLE))
    assert (shipped.returncode, kept.returncode) == (0, 0)
    totals = [Decimal(json.loads(said.stdout)["plan"]["estimate"]["total"]) for said in (shipped, kept)]
    # The compact example buys that roll; at 9999 no rounding or other pack hides that it was read.
    assert totals[1] != totals[0]


def test_a_plan_with_a_data_folder_that_nobody_kept_is_refused_and_makes_none(tmp_path: Path) -> None:
    ended = run("--data", str(tmp_path / "nowhere"), "plan", str(EXAMPLE))
    assert ended.returncode == 2
    assert b"no planner has kept its data there" in ended.stderr
    assert not (tmp_path / "nowhere").exists()
