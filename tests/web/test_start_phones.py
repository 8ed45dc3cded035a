"""The planner started for phones: a real process on a real port, asked from this computer and from its network side."""

import http.client
from collections.abc import Iterator

import pytest

from server.launch import network_address
from tests.web.test_start import Planner, planner, run


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Planner]:
    folder = tmp_path_factory.mktemp("phones")
    with planner(folder, "--port", "0", "--phones", "--address", "http://bench.example") as made:
        assert made.process.stdout is not None
        made.said += made.process.stdout.readline() + made.process.stdout.readline()
        yield made


def asked_from(source: str, made: Planner, path: str = "/", **headers: str) -> int:
    """Status of an answer to a request that comes from this address of this computer."""
    connection = http.client.HTTPConnection(source, made.port, timeout=30, source_address=(source, 0))
    connection.request("GET", path, headers={"Host": f"bench.example:{made.port}", **headers})
    status = connection.getresponse().status
    connection.close()
    return status


def test_the_address_for_phones_is_printed_with_the_port(started: Planner) -> None:
    assert f"http://bench.example:{started.port} " in started.said


def test_it_is_printed_that_the_connection_is_not_encrypted(started: Planner) -> None:
    assert "not encrypted" in started.said


def test_this_computer_is_answered_as_ever(started: Planner) -> None:
    assert started.get("/")[0] == 200


def test_another_address_than_loopback_has_to_be_paired(started: Planner) -> None:
    own = network_address()
    if not own:
        pytest.skip("this computer is in no network")
    # Seen by the socket, a request from the network side of this computer is one from elsewhere, whatever it says.
    assert asked_from(own, started, **{"X-Forwarded-For": "127.0.0.1"}) == 403


def test_a_foreign_name_stays_refused(started: Planner) -> None:
    assert started.get("/", host="evil.example")[0] == 421


@pytest.mark.parametrize(
    "address",
    [
        "bench.local",
        "https://bench.local",
        "http://",
        "http://bench.local/path",
        "http://a@bench.local",
        "http://bench.local:0",
        "http://bench.local:70000",
        "http://127.0.0.1:8765",
        "http://0.0.0.0",
        "http://localhost",
    ],
)
def test_an_address_that_no_phone_could_use_is_refused(address: str) -> None:
    assert run("--phones", "--address", address).returncode == 2


def test_an_address_without_phones_is_refused() -> None:
    assert b"--phones" in run("--address", "http://bench.local:8765").stderr
