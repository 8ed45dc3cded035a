"""Other devices in the workshop's network: out until they are paired, and then in for everything but the pairing."""

import re
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.config import Settings
from server.services.phones import PhoneDesk
from server.web.devices import from_this_computer, own_path
from tests.web.reading import all_of, beside, field, page, words

ADDRESS = "http://192.168.1.20:8765"
PHONE = ("192.168.1.30", 5)


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A browser on the planner's own computer; the planner was started for phones."""
    settings = Settings(data=tmp_path_factory.mktemp("phones"), phones=True, address=ADDRESS)
    with TestClient(
        create_app(settings), base_url="http://127.0.0.1:8765", follow_redirects=False, client=("127.0.0.1", 5)
    ) as made:
        yield made


@pytest.fixture
def phone(here: TestClient) -> TestClient:
    """A device in the network that nobody paired."""
    return elsewhere(here)


@pytest.fixture
def desk(here: TestClient) -> PhoneDesk:
    found: PhoneDesk = here.app.state.phones  # type: ignore[attr-defined]
    # Each test begins without a number and without a pause.
    found._open = found._paused_until = None
    return found


def elsewhere(here: TestClient, client: tuple[str, int] = PHONE) -> TestClient:
    return TestClient(here.app, base_url=ADDRESS, follow_redirects=False, client=client)


def pair(here: TestClient, phone: TestClient, onward: str = "/") -> None:
    """The number made at the planner and typed on the phone, as two people would."""
    here.post("/phones/number")
    shown = re.search(r"([0-9]{3}) ([0-9]{3})</p>", here.get("/phones").text)
    assert shown
    sent = {"number": f"{shown[1]} {shown[2]}", "name": "Bench phone", "onward": onward}
    assert phone.post("/pair", data=sent, headers={"Origin": ADDRESS}).status_code == 303


# ---- not paired ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path", ["/", "/builds/x/cards", "/bench/x/r1", "/shelf", "/share/x", "/phones", "//", "/nowhere"]
)
def test_an_unknown_device_sees_one_page_at_every_address(phone: TestClient, path: str) -> None:
    answer = phone.get(path)
    assert (answer.status_code, words(all_of(page(answer.text), "h1")[0])) == (403, "This device is not known here")


def test_an_unknown_device_learns_no_build_by_name(here: TestClient, phone: TestClient) -> None:
    here.post("/builds", data={"name": "Secret walnut case"})
    assert "Secret walnut" not in phone.get("/").text


@pytest.mark.parametrize("path", ["/api/builds", "/api", "/bench/x/tasks.json"])
def test_an_unknown_device_is_refused_by_the_json_interface(phone: TestClient, path: str) -> None:
    answer = phone.get(path)
    assert (answer.status_code, answer.json()["problems"]) == (403, [])


def test_an_unknown_device_is_refused_in_json_when_it_sends_json(phone: TestClient) -> None:
    answer = phone.post("/bench/x/ticks", json={"ticks": []}, headers={"Origin": ADDRESS})
    assert (answer.status_code, answer.headers["content-type"]) == (403, "application/json")


@pytest.mark.parametrize("path", ["/builds", "/examples/compact", "/shelf", "/phones/number"])
def test_an_unknown_device_changes_nothing(here: TestClient, phone: TestClient, desk: PhoneDesk, path: str) -> None:
    before = here.get("/api/builds").json()
    assert phone.post(path, data={"name": "Mine"}, headers={"Origin": ADDRESS}).status_code == 403
    assert (here.get("/api/builds").json(), desk.open_number()) == (before, None)


@pytest.mark.parametrize("path", ["/static/css/base.css", "/favicon.ico"])
def test_what_belongs_to_no_build_is_given_to_every_device(phone: TestClient, path: str) -> None:
    assert phone.get(path).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"X-Forwarded-For": "127.0.0.1"},
        {"Forwarded": "for=127.0.0.1"},
        {"X-Real-IP": "127.0.0.1"},
        {"Host": "127.0.0.1:8765"},
        {"Host": "localhost"},
        {"Cookie": "device=guess"},
    ],
)
def test_no_header_makes_another_device_this_computer(phone: TestClient, headers: dict[str, str]) -> None:
    assert phone.get("/", headers=headers).status_code == 403


def test_a_page_that_was_open_when_its_device_was_forgotten_is_loaded_anew(phone: TestClient) -> None:
    assert phone.get("/builds/x/cards", headers={"HX-Request": "true"}).headers["HX-Refresh"] == "true"


def test_the_page_says_that_the_connection_is_not_encrypted(phone: TestClient) -> None:
    assert "not encrypted" in phone.get("/").text


# ---- pairing -------------------------------------------------------------------------------------------------------


def test_a_paired_device_uses_the_planner(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    pair(here, phone)
    assert (phone.get("/").status_code, phone.get("/api/builds").status_code) == (200, 200)


def test_a_paired_device_changes_builds(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    pair(here, phone)
    phone.post("/builds", data={"name": "Made on the phone"}, headers={"Origin": ADDRESS})
    assert "Made on the phone" in here.get("/").text


def test_the_secret_is_kept_from_scripts_and_other_sites_for_a_year(
    here: TestClient, phone: TestClient, desk: PhoneDesk
) -> None:
    number = desk.make_number().number
    cookie = phone.post("/pair", data={"number": number, "name": "Phone"}).headers["Set-Cookie"]
    flags = {flag.strip().lower() for flag in cookie.split(";")[1:]}
    # 365 days of 86 400 s.
    assert flags == {"httponly", "max-age=31536000", "path=/", "samesite=lax"}


def test_pairing_goes_on_to_where_the_code_on_the_card_led(
    here: TestClient, phone: TestClient, desk: PhoneDesk
) -> None:
    shown = page(phone.get("/bench/b1/r2?by=tool").text)
    onward = next(e for e in all_of(shown, "input") if e.get("name") == "onward").get("value")
    sent = {"number": desk.make_number().number, "name": "Phone", "onward": onward}
    assert phone.post("/pair", data=sent).headers["Location"] == "/bench/b1/r2?by=tool"


@pytest.mark.parametrize(
    "onward",
    ["http://evil.example/", "//evil.example", "/\\evil.example", "\\\\evil", "evil", "", "/\t/evil", "/a\r\nX: y"],
)
def test_pairing_leads_to_no_other_site(phone: TestClient, desk: PhoneDesk, onward: str) -> None:
    sent = {"number": desk.make_number().number, "name": "Phone", "onward": onward}
    assert phone.post("/pair", data=sent).headers["Location"] == "/"


@pytest.mark.parametrize(
    ("asked", "answered"), [("/a?b=//c", "/a?b=//c"), ("/pair?number=1", "/"), ("/phones", "/"), ("/pairs", "/pairs")]
)
def test_an_own_path_is_any_address_of_the_planner_but_the_pairing(asked: str, answered: str) -> None:
    assert own_path(asked) == answered


def test_a_code_read_by_the_camera_fills_the_number_in_and_pairs_nothing_yet(
    phone: TestClient, desk: PhoneDesk
) -> None:
    number = desk.make_number().number
    shown = page(phone.get(f"/pair?number={number}").text)
    assert (field(shown, "number").get("value"), desk.open_number() is not None) == (number, True)


def test_a_pairing_number_works_once(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    sent = {"number": desk.make_number().number, "name": "Phone"}
    phone.post("/pair", data=sent)
    assert elsewhere(here).post("/pair", data=sent).status_code == 422


def test_a_wrong_number_is_told_beside_its_field(phone: TestClient, desk: PhoneDesk) -> None:
    number = desk.make_number().number
    wrong = f"{(int(number) + 1) % 1_000_000:06d}"
    answer = phone.post("/pair", data={"number": wrong, "name": "My phone", "onward": "/shelf"})
    shown = page(answer.text)
    assert (answer.status_code, field(shown, "name").get("value")) == (422, "My phone")
    assert "not the number" in beside(shown, "number")


def test_five_wrong_numbers_from_any_devices_make_the_number_void(here: TestClient, desk: PhoneDesk) -> None:
    number = desk.make_number().number
    for by in range(1, 6):
        other = elsewhere(here, (f"192.168.1.{100 + by}", 5))
        other.post("/pair", data={"number": f"{(int(number) + by) % 1_000_000:06d}", "name": "Phone"})
    assert elsewhere(here).post("/pair", data={"number": number, "name": "Phone"}).status_code == 422


def test_after_five_wrong_numbers_the_planner_says_that_pairing_pauses(here: TestClient, desk: PhoneDesk) -> None:
    number = desk.make_number().number
    for by in range(1, 6):
        elsewhere(here).post("/pair", data={"number": f"{(int(number) + by) % 1_000_000:06d}", "name": "Phone"})
    assert "five times" in here.get("/phones").text


def test_a_forgotten_device_is_locked_out_at_once(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    number = desk.make_number().number
    phone.post("/pair", data={"number": number, "name": "Lost phone"})
    lost = next(device for device in desk.devices() if device.name == "Lost phone")
    here.post(f"/phones/{lost.token_hash}/forget")
    assert phone.get("/").status_code == 403


# ---- at the planner's computer only --------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/phones", "/phones/", "/phones?said=x"])
def test_a_paired_device_does_not_see_the_list_of_devices(
    here: TestClient, phone: TestClient, desk: PhoneDesk, path: str
) -> None:
    pair(here, phone)
    answer = phone.get(path)
    assert (answer.status_code, "Bench phone" in answer.text) == (403, False)


def test_a_paired_device_makes_no_pairing_number(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    pair(here, phone)
    phone.post("/phones/number", headers={"Origin": ADDRESS})
    assert desk.open_number() is None


def test_a_paired_device_forgets_no_device(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    pair(here, phone)
    known = desk.devices()
    phone.post(f"/phones/{known[0].token_hash}/forget", headers={"Origin": ADDRESS})
    assert len(desk.devices()) == len(known)


def test_this_computer_needs_no_pairing(here: TestClient) -> None:
    assert here.get("/").status_code == 200


def test_the_list_names_each_device_with_its_moments(here: TestClient, phone: TestClient, desk: PhoneDesk) -> None:
    pair(here, phone)
    text = words(page(here.get("/phones").text))
    assert re.search(r"Bench phone.* paired [0-9]{2}:[0-9]{2}, last seen [0-9]{2}:[0-9]{2} Forget", text)


@pytest.mark.parametrize(
    ("client", "here_it_is"),
    [
        (("127.0.0.1", 5), True),
        (("127.8.9.1", 5), True),
        (("::1", 5), True),
        (("::ffff:127.0.0.1", 5), True),
        (("192.168.1.20", 5), False),
        (("::ffff:192.168.1.30", 5), False),
        (("localhost", 5), False),
        (("127.0.0.1.evil.example", 5), False),
        (None, False),
    ],
)
def test_this_computer_is_told_by_a_loopback_address_alone(client: tuple[str, int] | None, here_it_is: bool) -> None:
    assert from_this_computer({"type": "http", "client": client, "headers": []}) is here_it_is


# ---- hosts and origins ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("host", ["evil.example", "192.168.1.21:8765", "0.0.0.0:8765", "192.168.1.20.evil.example"])
def test_a_foreign_host_name_stays_refused(here: TestClient, phone: TestClient, host: str) -> None:
    assert [client.get("/", headers={"Host": host}).status_code for client in (here, phone)] == [421, 421]


def test_this_computer_is_not_reached_under_the_name_for_other_devices(here: TestClient) -> None:
    # A name of the network can be made to lead to this computer (DNS rebinding); a real device comes from elsewhere.
    assert here.get("/", headers={"Host": "192.168.1.20:8765"}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "http://192.168.1.20:9000", "null"])
def test_a_paired_devices_change_from_a_foreign_origin_is_refused(
    here: TestClient, phone: TestClient, desk: PhoneDesk, origin: str
) -> None:
    pair(here, phone)
    assert phone.post("/builds", data={"name": "X"}, headers={"Origin": origin}).status_code == 403


def test_a_device_is_told_to_name_its_own_pages_as_origin(here: TestClient, phone: TestClient) -> None:
    # Fetch standard, "append a request Origin header": under no-referrer a form's origin is sent as null.
    policies = [client.get("/").headers.get_list("Referrer-Policy") for client in (phone, here)]
    assert policies == [["same-origin"], ["no-referrer"]]


# ---- without the flag ----------------------------------------------------------------------------------------------


def test_without_the_flag_the_page_says_how_to_let_phones_in(pages: TestClient) -> None:
    text = pages.get("/phones").text
    assert ("--phones" in text, "Pair a device</button>" in text) == (True, False)


def test_without_the_flag_no_number_is_made(pages: TestClient) -> None:
    pages.post("/phones/number")
    desk: PhoneDesk = pages.app.state.phones  # type: ignore[attr-defined]
    assert desk.open_number() is None


def test_without_the_flag_the_network_address_is_a_foreign_host(tmp_path_factory: pytest.TempPathFactory) -> None:
    app = create_app(Settings(data=tmp_path_factory.mktemp("alone"), address=ADDRESS))
    assert TestClient(app, base_url=ADDRESS).get("/").status_code == 421
