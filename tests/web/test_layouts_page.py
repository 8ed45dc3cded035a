"""Pages of supply layouts: the list, the socket editor and the worksheet, all by plain forms."""

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.app import create_app
from server.config import Settings
from server.services.layouts import LayoutDesk
from server.web.reading.metering import volts_of


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("layout-pages"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", raise_server_exceptions=False) as made:
        yield made


@pytest.fixture
def desk(client: TestClient) -> LayoutDesk:
    found: LayoutDesk = client.app.state.layouts  # type: ignore[attr-defined]
    return found


@pytest.fixture
def own(desk: LayoutDesk) -> str:
    """Address of a copy of the sample with one 24-position main."""
    return f"/layouts/{desk.copy('one-24', 'Bench supply').layout.id}"


def words(html: str) -> str:
    """The page's text without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def shown(html: str, name: str) -> str:
    """What a field of the page holds."""
    typed = re.search(rf'<input[^>]*name="{re.escape(name)}"[^>]*value="([^"]*)"', html)
    if typed:
        return unescape(typed.group(1))
    picked = re.search(rf'<select[^>]*name="{re.escape(name)}".*?</select>', html, re.DOTALL)
    assert picked, name
    chosen = re.search(r'<option value="([^"]*)" selected', picked.group())
    assert chosen, name
    return unescape(chosen.group(1))


def beside(html: str, name: str) -> str:
    """The message beside a field of the page."""
    ident = "f-" + re.sub(r"[^A-Za-z0-9]+", "-", name)
    found = re.search(rf'id="{re.escape(ident)}-problem">(.*?)</span>\s*(?:</|<)', html, re.DOTALL)
    assert found, name
    return words(found.group(1))


def read(client: TestClient, own: str, port: str = "M1", entry: int | None = None, **values: str) -> Response:
    """Send the worksheet's form; ``c1_on`` stands for the field of cavity 1 with the supply on."""
    page = client.get(f"{own}/metering").text
    newest = int(re.search(r'name="entry" value="(\d+)"', page).group(1))  # type: ignore[union-attr]
    data: dict[str, Any] = {"entry": str(newest if entry is None else entry)}
    for key, text in values.items():
        cavity, _, what = key.partition("_")
        data[f"readings.{port}.{cavity[1:]}.{what}"] = text
    return client.post(f"{own}/readings/{port}", data=data)


# ---- the list ------------------------------------------------------------------------------------------------------


def test_a_sample_is_copied_from_the_list(client: TestClient) -> None:
    answer = client.post("/layouts/one-24/copy")
    assert "/layouts/own-" in str(answer.url)
    assert "One 24-position main copy" in words(answer.text)


def test_a_new_layout_needs_a_name(client: TestClient) -> None:
    answer = client.post("/layouts", data={"name": " "})
    assert answer.status_code == 422
    assert "name" in beside(answer.text, "name").lower()


def test_a_layout_put_away_can_be_brought_back_at_once(client: TestClient, own: str) -> None:
    answer = client.post(f"{own}/delete")
    assert f'action="{own}/restore"' in answer.text
    assert client.get(own).status_code == 404
    client.post(f"{own}/restore")
    assert client.get(own).status_code == 200


def test_an_exported_layout_can_be_imported(client: TestClient, own: str) -> None:
    text = client.get(f"{own}/export").text
    answer = client.post("/layouts/import", files={"file": ("layout.json", text, "application/json")})
    assert "Bench supply" in words(answer.text)


def imported(client: TestClient, own: str, **chosen: str) -> Response:
    """A layout with one cavity metered, sent out and brought in again."""
    read(client, own, c1_on="12.05")
    text = client.get(f"{own}/export").text
    files = {"file": ("layout.json", text, "application/json")}
    return client.post("/layouts/import", files=files, data=chosen)


def test_the_import_form_begins_with_readings_that_do_not_count(client: TestClient) -> None:
    form = client.get("/layouts").text.split('action="/layouts/import"')[1].split("</form>")[0]
    assert re.findall(r'name="readings_of" value="(\w+)" checked', form) == ["other"]
    assert "the same unit" in words(form)


@pytest.mark.parametrize("chosen", [{}, {"readings_of": "other"}, {"readings_of": "nonsense"}])
def test_readings_of_an_imported_layout_are_shown_and_do_not_count(
    client: TestClient, own: str, chosen: dict[str, str]
) -> None:
    answer = imported(client, own, **chosen)
    assert "1 reading of an imported file: not counted" in words(answer.text)
    sheet = words(client.get(f"{answer.url.path}/metering").text)
    assert "File, not counted: 12.05 V on" in sheet
    assert "0 of 24 cavities metered" in sheet


def test_readings_of_this_very_supply_count_at_once(client: TestClient, own: str) -> None:
    answer = imported(client, own, readings_of="this")
    assert "1 reading of this very supply is counted" in words(answer.text)
    assert "1 of 24 cavities metered" in words(client.get(f"{answer.url.path}/metering").text)


def test_imported_readings_are_counted_by_a_button_once_the_box_beside_it_is_ticked(
    client: TestClient, own: str
) -> None:
    there = str(imported(client, own).url.path)
    refused = client.post(f"{there}/imported", data={"entry": "0", "readings.M1.2.on": "12.01"})
    assert refused.status_code == 422
    assert "this very supply" in beside(refused.text, "same_supply")
    assert shown(refused.text, "readings.M1.2.on") == "12.01"
    data = {"entry": "0", "readings.M1.2.on": "12.01", "same_supply": "yes"}
    counted = words(client.post(f"{there}/imported", data=data).text)
    # One from the file, and the one that was typed meanwhile.
    assert "2 of 24 cavities metered" in counted
    assert "not counted" not in counted


def test_imported_readings_are_dropped_by_their_button(client: TestClient, own: str) -> None:
    there = str(imported(client, own).url.path)
    answer = client.post(f"{there}/imported/drop", data={"entry": "0"})
    assert "1 reading of the file dropped" in words(answer.text)
    assert "File, not counted" not in words(answer.text)


def test_an_import_that_is_refused_names_port_and_cavity(client: TestClient, own: str) -> None:
    text = client.get(f"{own}/export").text.replace('"net": "COM"', '"net": "EARTH"', 1)
    answer = client.post("/layouts/import", files={"file": ("layout.json", text, "application/json")})
    assert answer.status_code == 422
    # The first ground of the sample's main is its cavity 5.
    assert "Main, cavity 5: 'EARTH' is no net of a supply." in words(answer.text)


@pytest.mark.parametrize("text", ["", "{}", "no json at all", '{"format": "loomwright-build"}'])
def test_a_file_that_is_no_layout_is_refused_on_the_list(client: TestClient, text: str) -> None:
    answer = client.post("/layouts/import", files={"file": ("layout.json", text, "application/json")})
    assert answer.status_code == 422
    assert "Supply layouts" in answer.text


@pytest.mark.parametrize("name", ['"><script>alert(1)</script>', "שלום <b>", "🧵" * 20])
def test_whatever_a_layout_is_called_is_shown_as_typed(client: TestClient, name: str) -> None:
    answer = client.post("/layouts", data={"name": name})
    assert name in unescape(answer.text)
    assert "<script>alert" not in answer.text


# ---- the socket editor ---------------------------------------------------------------------------------------------


def test_every_cavity_is_a_field_in_the_order_of_its_number(client: TestClient, own: str) -> None:
    html = client.get(own).text
    names = re.findall(r'<select[^>]*name="ports\.M1\.(\d+)"', html)
    # A 24-position main has the cavities 1 to 24.
    assert names == [str(number) for number in range(1, 25)]


def test_the_page_says_which_way_the_socket_is_looked_at(client: TestClient, own: str) -> None:
    assert "look into the supply's socket" in words(client.get(own).text)


def test_cavity_one_stands_at_the_right_end_of_the_row_away_from_the_latch(client: TestClient, own: str) -> None:
    # Common practice: on the wire side with the latch up, cavity 1 of a two-row plug is at the lower right.
    block = client.get(own).text.split('id="port-C1"')[1]
    assert re.search(r'class="cavity at-c4 at-r2"[^>]*>\s*<label for="f-ports-C1-1"', block)


def test_a_changed_net_is_saved_as_a_version(client: TestClient, own: str, desk: LayoutDesk) -> None:
    answer = client.post(f"{own}/ports/M1", data={"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK"})
    assert shown(answer.text, "ports.M1.12") == "PWR_OK"
    assert "Saved as version 2" in words(answer.text)


def test_a_port_is_added_with_its_socket(client: TestClient, own: str) -> None:
    data = {"revision": "1", "new.label": "Spare", "new.housing": "p42-6-plug", "new.feeds": "drive"}
    answer = client.post(f"{own}/ports", data=data)
    assert len(re.findall(r'name="ports\.S1\.\d+"', answer.text)) == 6


def test_a_port_without_a_name_or_socket_is_refused_beside_both_fields(client: TestClient, own: str) -> None:
    answer = client.post(f"{own}/ports", data={"revision": "1", "new.label": "", "new.housing": ""})
    assert answer.status_code == 422
    assert beside(answer.text, "new.label")
    assert beside(answer.text, "new.housing")


def test_a_port_is_removed(client: TestClient, own: str) -> None:
    answer = client.post(f"{own}/ports/P3/remove", data={"revision": "1"})
    assert "ports.P3.1" not in answer.text


def test_saving_at_one_port_saves_what_was_picked_at_another(client: TestClient, own: str) -> None:
    data = {"revision": "1", "at": "M1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK"}
    answer = client.post(own, data={**data, "ports.C1.label": "Board", "ports.C1.1": "+12V"})
    assert shown(answer.text, "ports.M1.12") == "PWR_OK"
    assert shown(answer.text, "ports.C1.label") == "Board"
    assert shown(answer.text, "ports.C1.1") == "+12V"
    assert "Saved as version 2" in words(answer.text)


@pytest.mark.parametrize("where", ["/ports", "/ports/P3/remove"])
def test_adding_and_removing_a_port_save_what_was_picked_at_another(client: TestClient, own: str, where: str) -> None:
    data = {"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK", "name": "Renamed", "edition": "strict"}
    answer = client.post(own + where, data={**data, "new.label": "Spare", "new.housing": "p42-6-plug"})
    assert shown(answer.text, "ports.M1.12") == "PWR_OK"
    assert shown(answer.text, "name") == "Renamed"


def test_a_port_that_is_not_added_yet_stays_typed_when_the_page_is_saved(client: TestClient, own: str) -> None:
    data = {"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK", "new.label": "Spare & more"}
    answer = client.post(own, data={**data, "new.housing": "p42-6-plug", "new.feeds": "fan"})
    assert shown(answer.text, "new.label") == "Spare & more"
    assert shown(answer.text, "new.housing") == "p42-6-plug"
    assert 'name="new.feeds" value="fan" checked' in answer.text
    assert "This port is not added yet" in words(answer.text)
    assert 'id="port-S1"' not in answer.text


def test_uses_that_the_form_did_not_show_stay(client: TestClient, own: str, desk: LayoutDesk) -> None:
    client.post(own, data={"revision": "1", "ports.C1.label": "Board"})
    assert next(p.feeds for p in desk.open(own.rpartition("/")[2]).layout.ports if p.id == "C1") == ("cpu",)


def test_a_page_saved_without_a_change_says_so(client: TestClient, own: str) -> None:
    answer = client.post(own, data={"revision": "1", "ports.M1.label": "Main"})
    assert "Nothing changed: still version 1." in words(answer.text)


def test_a_refused_net_is_told_with_its_port_and_cavity(client: TestClient, own: str) -> None:
    answer = client.post(own, data={"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "EARTH"})
    assert answer.status_code == 422
    assert "Main, cavity 12: 'EARTH' is no net of a supply." in words(answer.text)


def test_an_earlier_version_is_made_the_newest_again(client: TestClient, own: str) -> None:
    client.post(own, data={"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK"})
    page = client.get(f"{own}/versions").text
    assert f'action="{own}/versions/1"' in page
    answer = client.post(f"{own}/versions/1", data={"revision": "2"})
    assert "Saved as version 3" in words(answer.text)
    assert shown(answer.text, "ports.M1.12") == ""
    assert "went back to version 1" in words(client.get(f"{own}/versions").text)


def test_going_back_from_a_stale_page_shows_what_was_saved_meanwhile(client: TestClient, own: str) -> None:
    client.post(own, data={"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK"})
    answer = client.post(f"{own}/versions/1", data={"revision": "1"})
    assert answer.status_code == 409
    assert "Not gone back" in words(answer.text)


def test_a_layout_left_without_a_ground_is_refused_and_keeps_what_was_picked(client: TestClient) -> None:
    made = client.post("/layouts", data={"name": "From nothing"})
    address = str(made.url.path)
    client.post(f"{address}/ports", data={"revision": "1", "new.label": "Main", "new.housing": "p42-4-plug"})
    answer = client.post(f"{address}/ports/M1", data={"revision": "2", "ports.M1.label": "Main", "ports.M1.1": "+12V"})
    assert answer.status_code == 422
    assert "ground" in words(answer.text)
    assert shown(answer.text, "ports.M1.1") == "+12V"


def test_a_stale_form_is_refused_with_what_changed_and_saved_on_top_the_next_time(client: TestClient, own: str) -> None:
    client.post(f"{own}/ports/M1", data={"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "PWR_OK"})
    stale = {"revision": "1", "ports.M1.label": "Main", "ports.M1.12": "", "ports.M1.1": "+5V"}
    answer = client.post(f"{own}/ports/M1", data=stale)
    assert answer.status_code == 409
    assert "Main, cavity 12 PWR_OK" in words(answer.text)
    assert shown(answer.text, "ports.M1.1") == "+5V"
    # Left as it stood in the form, so that it takes what was saved meanwhile.
    assert shown(answer.text, "ports.M1.12") == "PWR_OK"
    assert 'name="revision" value="2"' in answer.text


def test_greatest_currents_are_kept_and_read_with_a_comma(client: TestClient, own: str, desk: LayoutDesk) -> None:
    data = {"revision": "1", "name": "Bench supply", "edition": "3.x", "limits.+12V": "62,5 A"}
    answer = client.post(own, data=data)
    assert shown(answer.text, "limits.+12V") == "62.5"
    assert shown(answer.text, "edition") == "3.x"


@pytest.mark.parametrize("typed", ["plenty", "-3", "0", "9999"])
def test_a_greatest_current_that_is_none_is_refused_beside_its_field(client: TestClient, own: str, typed: str) -> None:
    data = {"revision": "1", "name": "Bench supply", "edition": "strict", "limits.+12V": typed}
    answer = client.post(own, data=data)
    assert answer.status_code == 422
    assert shown(answer.text, "limits.+12V") == typed
    assert "amperes" in beside(answer.text, "limits.+12V")


# ---- the worksheet -------------------------------------------------------------------------------------------------


def test_the_cautions_stand_before_the_first_field(client: TestClient, own: str) -> None:
    html = client.get(f"{own}/metering").text
    assert html.index("Never open the supply") < html.index("readings.M1.1.on")


def test_a_reading_meters_its_cavity_and_the_rest_stays_to_be_done(client: TestClient, own: str) -> None:
    html = read(client, own, c1_on="12.05", c5_ground="yes").text
    assert "2 of 24 cavities metered" in words(html)
    assert shown(html, "readings.M1.1.on") == "12.05"


@pytest.mark.parametrize(
    ("typed", "volts"),
    [
        ("12,05", 12.05),
        ("12.05", 12.05),
        (" 12.05 V ", 12.05),
        ("-11,9", -11.9),
        ("−11.9", -11.9),
        ("+5.02", 5.02),
        (".4", 0.4),
        ("0", 0.0),
        ("-0.0", 0.0),
        ("20 mV", 0.02),
        ("", None),
    ],
)
def test_a_voltage_is_read_as_builders_write_it(typed: str, volts: float | None) -> None:
    assert volts_of(typed) == volts


@pytest.mark.parametrize("typed", ["twelve", "12.0.5", "1e1", "12 A", "nan", "inf", "12;05", "yes", "OL", "١٢"])
def test_what_is_no_voltage_is_answered_in_words(typed: str) -> None:
    assert isinstance(volts_of(typed), str)


def test_a_reading_in_words_is_refused_beside_its_field_and_everything_typed_is_kept(
    client: TestClient, own: str
) -> None:
    answer = read(client, own, c1_on="about twelve", c2_on="12.01")
    assert answer.status_code == 422
    assert "figures" in beside(answer.text, "readings.M1.1.on")
    assert shown(answer.text, "readings.M1.1.on") == "about twelve"
    assert shown(answer.text, "readings.M1.2.on") == "12.01"


def test_a_slip_of_the_point_is_refused_with_what_was_meant(client: TestClient, own: str) -> None:
    answer = read(client, own, c1_on="1200")
    assert answer.status_code == 422
    assert "12.00" in beside(answer.text, "readings.M1.1.on")


def test_readings_typed_at_two_ports_are_saved_together(client: TestClient, own: str) -> None:
    data = {"entry": "0", "at": "M1", "readings.M1.1.on": "12.05", "readings.C1.1.ground": "yes"}
    answer = client.post(f"{own}/readings", data=data)
    assert shown(answer.text, "readings.M1.1.on") == "12.05"
    assert shown(answer.text, "readings.C1.1.ground") == "yes"
    assert "Readings of 2 cavities written down." in words(answer.text)


def test_clearing_one_port_writes_down_what_was_typed_at_another(client: TestClient, own: str) -> None:
    read(client, own, c1_on="12.05")
    page = client.get(f"{own}/metering").text
    entry = re.search(r'name="entry" value="(\d+)"', page).group(1)  # type: ignore[union-attr]
    data = {"entry": entry, "readings.M1.1.on": "12.05", "readings.C1.1.ground": "yes"}
    answer = client.post(f"{own}/readings/M1/clear", data=data)
    assert shown(answer.text, "readings.M1.1.on") == ""
    assert shown(answer.text, "readings.C1.1.ground") == "yes"


def test_a_refused_reading_is_told_with_its_port_and_cavity(client: TestClient, own: str) -> None:
    answer = read(client, own, c1_standby="about five")
    banner = answer.text.split('class="banner banner-stop"')[1].split("</div>")[0]
    assert "Main, cavity 1, standby: Write volts" in words(banner)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"c1_on": "12.05"}, "Readings of 1 cavity written down."),
        ({"c1_on": "12.05", "c2_on": "12.01"}, "Readings of 2 cavities written down."),
        ({}, "No reading changed."),
    ],
)
def test_what_was_written_down_is_counted_in_plain_words(
    client: TestClient, own: str, typed: dict[str, str], said: str
) -> None:
    assert said in words(read(client, own, **typed).text)


def test_a_cavity_that_fits_two_nets_is_called_not_told_apart(client: TestClient, own: str) -> None:
    assert "not told apart 5.03 V on fits" in words(read(client, own, c11_on="5.03").text)


def test_a_cavity_that_reads_otherwise_than_recorded_says_so_with_the_numbers(client: TestClient, own: str) -> None:
    text = words(read(client, own, c1_on="5.03", c1_standby="0").text)
    assert "contradicts 5.03 V on, 0.00 V in standby fits +5V" in text


def test_a_field_emptied_takes_the_reading_back(client: TestClient, own: str, desk: LayoutDesk) -> None:
    read(client, own, c1_on="12.05")
    read(client, own, c1_on="")
    assert desk.open(own.rpartition("/")[2]).layout.readings == ()


def test_two_worksheets_never_undo_each_other(client: TestClient, own: str, desk: LayoutDesk) -> None:
    read(client, own, c1_on="12.05", c2_on="")
    # The second form was made before the first was saved: its first field still stood empty.
    read(client, own, entry=0, c1_on="", c2_on="12.01")
    taken = {each.cavity: each.on_v for each in desk.open(own.rpartition("/")[2]).layout.readings}
    assert taken == {"1": 12.05, "2": 12.01}


def test_cavities_that_no_reading_tells_apart_are_settled_as_recorded(client: TestClient, own: str) -> None:
    read(client, own, c8_on="3.31", c8_standby="0")
    page = client.get(f"{own}/metering").text
    assert 'value="settle"' in page
    entry = re.search(r'name="entry" value="(\d+)"', page).group(1)  # type: ignore[union-attr]
    answer = client.post(f"{own}/readings/M1", data={"entry": entry, "do": "settle"})
    assert shown(answer.text, "readings.M1.8.settled") == "+3.3V"
    assert "1 of 24 cavities metered" in words(answer.text)


def test_what_a_further_reading_tells_is_not_settled_by_the_button(client: TestClient, own: str) -> None:
    read(client, own, c11_on="5.03")
    assert 'value="settle"' not in client.get(f"{own}/metering").text


def test_the_readings_of_a_port_can_be_cleared(client: TestClient, own: str) -> None:
    read(client, own, c1_on="12.05")
    answer = client.post(f"{own}/readings/M1/clear")
    assert "0 of 24 cavities metered" in words(answer.text)


def test_a_form_that_does_not_say_what_it_was_made_from_is_refused(client: TestClient, own: str) -> None:
    assert client.post(f"{own}/readings/M1", data={"readings.M1.1.on": "12"}).status_code == 422


@pytest.mark.parametrize("where", ["/readings/M9", "/ports/M9", "/ports/M9/remove"])
def test_a_port_that_is_not_there_is_not_found(client: TestClient, own: str, where: str) -> None:
    assert client.post(f"{own}{where}", data={"entry": "0", "revision": "1"}).status_code == 404


@pytest.mark.parametrize("where", ["", "/metering", "/versions"])
def test_no_id_stands_twice_and_every_field_has_a_label(client: TestClient, own: str, where: str) -> None:
    html = client.get(own + where).text
    ids = re.findall(r'\sid="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    fields = re.findall(r'<(?:input type="text"|select|textarea)[^>]*?id="([^"]+)"', html)
    assert set(fields) <= set(re.findall(r'<label[^>]*for="([^"]+)"', html))


@pytest.mark.parametrize("where", ["/layouts", "{own}", "{own}/metering", "{own}/versions"])
def test_no_page_carries_a_style_of_its_own(client: TestClient, own: str, where: str) -> None:
    # The content security policy refuses them.
    assert not re.search(r"\sstyle=|<style", client.get(where.format(own=own)).text)


MAIN = {"ports.M1.label": "Main", "ports.M1.feeds": "main"}


# ---- the supply step of a build -------------------------------------------------------------------------------------


@pytest.fixture
def build(client: TestClient) -> str:
    """Address of a build with a board on the sample."""
    desk = client.app.state.desk  # type: ignore[attr-defined]
    opened = desk.choose_supply(desk.create("Walnut desk case").build_id, 1, "one-24")
    desk.add_parts(opened.build_id, 2, "board-small", 1)
    return f"/builds/{opened.build_id}"


def step(client: TestClient, build: str) -> str:
    return words(client.get(f"{build}/supply").text)


def test_a_sample_is_made_ones_own_from_the_supply_step(client: TestClient, build: str) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    assert str(answer.url.path).endswith("/metering")
    assert "0 of" in step(client, build)
    assert "your own, version 1" in step(client, build)


def test_the_supply_step_counts_the_metered_cavities_that_the_build_uses(client: TestClient, build: str) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    own = str(answer.url.path).removesuffix("/metering")
    before = re.search(r"0 of (\d+) cavities that this build uses", step(client, build))
    assert before
    read(client, own, c1_on="12.05", c5_ground="yes")
    assert f"2 of {before.group(1)} cavities that this build uses are metered" in step(client, build)


def test_a_newer_version_is_offered_with_what_it_changes_and_taken_only_when_asked(
    client: TestClient, build: str
) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    own = str(answer.url.path).removesuffix("/metering")
    client.post(f"{own}/ports/M1", data={"revision": "1", **MAIN, "ports.M1.12": "COM"})
    assert "newer one, version 2. It changes: – Main, cavity 12 COM (was not connected)" in step(client, build)
    ident = own.rpartition("/")[2]
    client.post(f"{build}/supply", data={"revision": "4", "supply": ident})
    assert "newer one, version 2" in step(client, build)
    client.post(f"{build}/supply", data={"revision": "4", "supply": ident, "take": "newest"})
    assert "newer one" not in step(client, build)


def test_the_worksheet_opened_from_a_build_marks_what_it_uses_and_leads_back(client: TestClient, build: str) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    used = int(re.search(r"0 of (\d+) cavities that this build uses", step(client, build)).group(1))  # type: ignore[union-attr]
    assert f'href="{build}/supply"' in answer.text
    assert answer.text.count('class="meter-used"') == used
    assert f"0 of {used} cavities that it uses are metered" in words(answer.text)


def test_the_way_back_to_the_build_stays_while_readings_are_saved(client: TestClient, build: str) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    own = str(answer.url.path).removesuffix("/metering")
    data = {"entry": "0", "build": build.rpartition("/")[2], "readings.M1.1.on": "12.05"}
    assert f'href="{build}/supply"' in client.post(f"{own}/readings", data=data).text


@pytest.mark.parametrize("build_id", ["none", "../x", ""])
def test_a_worksheet_opened_from_no_build_marks_nothing(client: TestClient, own: str, build_id: str) -> None:
    answer = client.get(f"{own}/metering", params={"build": build_id})
    assert answer.status_code == 200
    assert 'class="meter-used"' not in answer.text


def test_a_version_without_the_port_of_a_run_says_where_the_run_went(
    client: TestClient, build: str, desk: LayoutDesk
) -> None:
    answer = client.post(f"{build}/supply/copy", data={"revision": "3"})
    own = str(answer.url.path).removesuffix("/metering")
    builds = client.app.state.desk  # type: ignore[attr-defined]
    port = next(run.sources[0].socket for run in builds.open(build.rpartition("/")[2]).build.runs if run.sources)
    client.post(f"{own}/ports/{port}/remove", data={"revision": "1"})
    data = {"revision": "4", "supply": own.rpartition("/")[2], "take": "newest"}
    answer = client.post(f"{build}/supply", data=data)
    moved = answer.text.split('id="supply-moved"')[1].split("</div>")[0]
    assert re.search(r"run \d+ starts from", words(moved))


def test_a_stale_copy_is_refused_and_leaves_no_layout_behind(client: TestClient, build: str, desk: LayoutDesk) -> None:
    before = len(desk.list())
    assert client.post(f"{build}/supply/copy", data={"revision": "1"}).status_code == 409
    assert len(desk.list()) == before
