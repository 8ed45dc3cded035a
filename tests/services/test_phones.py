"""Pairing numbers and paired devices: the expected values are the rules as stated, reckoned by hand."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, text

from server.domain.errors import InvalidInputError, NotFoundError
from server.services.phones import PhoneDesk
from server.store.database import open_database, reading

START = datetime(2025, 1, 1, 9, 0, tzinfo=UTC)


class Clock:
    """A clock that a test puts forward."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **by: float) -> None:
        self.now += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def empty(tmp_path) -> Iterator[Engine]:
    opened = open_database(tmp_path / "phones.db")
    yield opened
    opened.dispose()


@pytest.fixture
def phones(empty: Engine, clock: Clock) -> PhoneDesk:
    return PhoneDesk(empty, on=True, clock=clock)


def wrong(number: str, by: int = 1) -> str:
    """Another number than the open one."""
    return f"{(int(number) + by) % 1_000_000:06d}"


def refusal(phones: PhoneDesk, number: str, name: str = "Phone") -> str:
    with pytest.raises(InvalidInputError) as refused:
        phones.pair(number, name)
    return str(refused.value)


def test_a_pairing_number_has_six_digits(phones: PhoneDesk) -> None:
    assert all(len(number) == 6 and number.isdigit() for number in (phones.make_number().number for _ in range(200)))


def test_the_open_number_pairs_a_device(phones: PhoneDesk) -> None:
    phones.pair(phones.make_number().number, "Bench phone")
    assert [device.name for device in phones.devices()] == ["Bench phone"]


def test_a_number_may_be_typed_in_groups_as_it_is_shown(phones: PhoneDesk) -> None:
    number = phones.make_number().number
    assert phones.pair(f" {number[:3]} {number[3:]} ", "Phone").device.name == "Phone"


def test_the_paired_device_is_known_by_its_secret(phones: PhoneDesk) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    assert phones.known(paired.token) == paired.device


@pytest.mark.parametrize("token", ["", "x", "0" * 64, "’"])
def test_any_other_secret_is_not_known(phones: PhoneDesk, token: str) -> None:
    phones.pair(phones.make_number().number, "Phone")
    assert phones.known(token) is None


def test_the_hash_that_is_kept_is_no_secret(phones: PhoneDesk) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    assert phones.known(paired.device.token_hash) is None


def test_the_secret_itself_is_not_in_the_database(phones: PhoneDesk, empty: Engine) -> None:
    token = phones.pair(phones.make_number().number, "Phone").token
    with reading(empty) as session:
        rows = session.connection().execute(text("SELECT * FROM paired_devices")).all()
    assert token not in str(rows)


def test_a_secret_carries_256_random_bits(phones: PhoneDesk) -> None:
    # 32 bytes are 43 characters of base 64, which hold 6 bits each, without filling.
    assert len(phones.pair(phones.make_number().number, "Phone").token) == 43


def test_a_number_pairs_one_device_only(phones: PhoneDesk) -> None:
    number = phones.make_number().number
    phones.pair(number, "First")
    assert "No number is open" in refusal(phones, number, "Second")


def test_a_new_number_makes_the_one_before_it_void(phones: PhoneDesk) -> None:
    first = phones.make_number().number
    second = phones.make_number().number
    if first == second:
        pytest.skip("the same number was drawn twice, once in a million")
    assert "not the number" in refusal(phones, first)


def test_a_number_holds_for_less_than_ten_minutes(phones: PhoneDesk, clock: Clock) -> None:
    number = phones.make_number().number
    clock.forward(minutes=9, seconds=59)
    assert phones.pair(number, "Phone").device.name == "Phone"


def test_a_number_is_void_after_ten_minutes(phones: PhoneDesk, clock: Clock) -> None:
    number = phones.make_number().number
    clock.forward(minutes=10)
    assert "No number is open" in refusal(phones, number)


def test_a_withdrawn_number_pairs_nothing(phones: PhoneDesk) -> None:
    number = phones.make_number().number
    phones.withdraw_number()
    assert "No number is open" in refusal(phones, number)


def test_four_wrong_tries_leave_the_number_open(phones: PhoneDesk) -> None:
    number = phones.make_number().number
    for by in range(1, 5):
        refusal(phones, wrong(number, by))
    assert phones.pair(number, "Phone").device.name == "Phone"


def test_the_fifth_wrong_try_makes_the_number_void(phones: PhoneDesk, clock: Clock) -> None:
    number = phones.make_number().number
    for by in range(1, 6):
        refusal(phones, wrong(number, by))
    clock.forward(minutes=2)
    assert "No number is open" in refusal(phones, number)


def test_after_five_wrong_tries_even_a_new_number_waits_for_a_minute(phones: PhoneDesk, clock: Clock) -> None:
    number = phones.make_number().number
    for by in range(1, 6):
        refusal(phones, wrong(number, by))
    clock.forward(seconds=59)
    assert "Wait a minute" in refusal(phones, phones.make_number().number)


def test_a_minute_after_five_wrong_tries_a_new_number_pairs(phones: PhoneDesk, clock: Clock) -> None:
    number = phones.make_number().number
    for by in range(1, 6):
        refusal(phones, wrong(number, by))
    clock.forward(seconds=60)
    assert phones.pair(phones.make_number().number, "Phone").device.name == "Phone"


@pytest.mark.parametrize("number", ["", "12345", "1234567", "12a456", "١٢٣٤٥٦"])
def test_what_is_no_number_is_refused_and_does_not_count_as_a_try(phones: PhoneDesk, number: str) -> None:
    right = phones.make_number().number
    for _ in range(6):
        refusal(phones, number)
    assert phones.pair(right, "Phone").device.name == "Phone"


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x00b", "a\u202eb"])
def test_a_name_that_cannot_be_shown_leaves_the_number_open(phones: PhoneDesk, name: str) -> None:
    number = phones.make_number().number
    refusal(phones, number, name)
    assert phones.pair(number, "Phone").device.name == "Phone"


def test_a_name_that_is_taken_gets_a_number(phones: PhoneDesk) -> None:
    for _ in range(3):
        phones.pair(phones.make_number().number, "Phone")
    assert {device.name for device in phones.devices()} == {"Phone", "Phone 2", "Phone 3"}


def test_a_forgotten_device_is_not_known_any_more(phones: PhoneDesk) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    phones.forget(paired.device.token_hash)
    assert phones.known(paired.token) is None


def test_a_device_is_forgotten_once(phones: PhoneDesk) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    phones.forget(paired.device.token_hash)
    with pytest.raises(NotFoundError):
        phones.forget(paired.device.token_hash)


def test_the_list_says_when_a_device_was_here_last(phones: PhoneDesk, clock: Clock) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    clock.forward(hours=3)
    phones.known(paired.token)
    assert phones.devices()[0].seen_at == "2025-01-01T12:00:00+00:00"


def test_paired_devices_are_known_after_a_restart(phones: PhoneDesk, empty: Engine, clock: Clock) -> None:
    paired = phones.pair(phones.make_number().number, "Phone")
    assert PhoneDesk(empty, on=True, clock=clock).known(paired.token) is not None
