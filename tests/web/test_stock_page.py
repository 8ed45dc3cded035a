"""The stock page: own values beside shipped ones, refused where they are wrong, kept as they were typed."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.config import Settings

SWAP = {"HX-Request": "true", "HX-Request-Type": "partial"}
LISTS = ("wire", "sleeve", "shrink", "contact", "housing", "comb", "cap", "labour")
ROW = "/stock/wire/facts/awg18-plain"
PACK = {"item": "awg18-plain", "quantity": "82", "price": "61.40"}


@pytest.fixture(scope="module")
def planner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("stock"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", raise_server_exceptions=False) as made:
        yield made


@pytest.fixture
def client(planner: TestClient) -> Iterator[TestClient]:
    """The planner with the catalogue as shipped, before every test and again after it."""
    yield planner
    desk = planner.app.state.stock  # type: ignore[attr-defined]
    for table in ("wires", "sleeves", "labour", "packs"):
        for row in desk.rows(table):
            for value in row.values:
                if value.own is not None:
                    desk.clear_value(table, row.id, value.column)
            if row.own:
                desk.remove_pack(row.id)


def field(html: str, element_id: str) -> str:
    """The text in a field of the page."""
    found = re.search(rf'<input[^>]*id="{re.escape(element_id)}"[^>]*value="([^"]*)"', html)
    assert found, element_id
    return unescape(found.group(1))


def words(html: str) -> str:
    """The page's text without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def own_pack(client: TestClient) -> str:
    """Address of a pack of one's own."""
    client.post("/stock/wire/packs", data=PACK)
    found = re.search(r'action="(/stock/wire/packs/own-[^"]+)/remove"', client.get("/stock/wire").text)
    assert found
    return found.group(1)


@pytest.mark.parametrize("name", LISTS)
def test_every_list_has_its_address(client: TestClient, name: str) -> None:
    assert client.get(f"/stock/{name}").status_code == 200


def test_the_stock_page_opens_on_a_list(client: TestClient) -> None:
    assert str(client.get("/stock").url.path) == "/stock/wire"


@pytest.mark.parametrize("address", ["/stock/wires", "/stock/packs", "/stock/" + "x" * 300])
def test_a_list_that_does_not_exist_is_not_found(client: TestClient, address: str) -> None:
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("name", LISTS)
def test_no_id_stands_twice_on_a_page(client: TestClient, name: str) -> None:
    # HTML: ids are unique in a document; labels, messages and swaps rely on it.
    ids = re.findall(r'\sid="([^"]+)"', client.get(f"/stock/{name}").text)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", LISTS)
def test_every_field_has_a_label(client: TestClient, name: str) -> None:
    html = client.get(f"/stock/{name}").text
    fields = re.findall(r'<(?:input type="text"|select|textarea)[^>]*?id="([^"]+)"', html)
    assert set(fields) <= set(re.findall(r'<label[^>]*for="([^"]+)"', html))


def test_a_saved_value_comes_back_in_place_of_the_shipped_one(client: TestClient) -> None:
    html = client.post(ROW, data={"outside_mm": "2.25"}).text
    assert field(html, "f-facts-awg18-plain-outside-mm") == "2.25"


def test_the_shipped_value_is_shown_beside_an_own_one(client: TestClient) -> None:
    shipped = field(client.get("/stock/wire").text, "f-facts-awg18-plain-outside-mm")
    assert f"shipped {shipped}" in words(client.post(ROW, data={"outside_mm": "2.25"}).text)


def test_a_reset_brings_the_shipped_value_back(client: TestClient) -> None:
    before = field(client.get("/stock/wire").text, "f-facts-awg18-plain-outside-mm")
    client.post(ROW, data={"outside_mm": "2.25"})
    html = client.post(f"{ROW}/reset", data={"column": "outside_mm"}).text
    assert field(html, "f-facts-awg18-plain-outside-mm") == before


def test_an_own_value_is_what_the_catalogue_says(client: TestClient) -> None:
    client.post(ROW, data={"outside_mm": "2.25"})
    assert client.get("/api/catalogue/wires").json()["catalogue"]["wires"]["awg18-plain"]["outside_mm"] == 2.25


def test_an_own_value_names_the_builder_as_its_source(client: TestClient) -> None:
    assert "measured by the builder" in words(client.post(ROW, data={"outside_mm": "2.25"}).text)


@pytest.mark.parametrize(
    ("typed", "stands"),
    [
        ("2,25", "2.25"),
        (" 2.25 mm ", "2.25"),
        # 0.09 in is 0.09 x 25.4 = 2.286 mm.
        ("0.09 in", "2.286"),
        ("0.2 cm", "2"),
    ],
)
def test_a_diameter_may_be_typed_as_people_write_it(client: TestClient, typed: str, stands: str) -> None:
    html = client.post(ROW, data={"outside_mm": typed}).text
    assert field(html, "f-facts-awg18-plain-outside-mm") == stands


@pytest.mark.parametrize("typed", ["thick", "-2", "0", "99999", "", "2.1.1", "<b>2</b>", "NaN", "1e2"])
def test_a_diameter_that_is_none_is_refused_and_kept_as_typed(client: TestClient, typed: str) -> None:
    answer = client.post(ROW, data={"outside_mm": typed})
    assert (answer.status_code, field(answer.text, "f-facts-awg18-plain-outside-mm")) == (422, typed)


def test_the_message_stands_beside_its_field(client: TestClient) -> None:
    html = client.post(ROW, data={"outside_mm": "thick"}).text
    described = re.search(
        r'id="f-facts-awg18-plain-outside-mm"[^>]*aria-describedby="([^"]+)" aria-invalid="true"', html
    )
    assert described
    assert f'id="{described.group(1)}"' in html


def test_a_message_names_columns_as_the_page_heads_them(client: TestClient) -> None:
    # The sleeve would fit from 5 mm to 3 mm.
    html = client.post("/stock/sleeve/facts/small", data={"least_mm": "5", "greatest_mm": "3"}).text
    assert "least_mm" not in words(html)


def test_a_refused_row_saves_none_of_its_values(client: TestClient) -> None:
    before = client.get("/api/catalogue/wires").text
    client.post(ROW, data={"outside_mm": "2.25", "ohm_per_km": "low"})
    assert client.get("/api/catalogue/wires").text == before


def test_saving_one_row_answers_the_script_with_that_row(client: TestClient) -> None:
    html = client.post(ROW, data={"outside_mm": "2.25"}, headers=SWAP).text
    assert re.findall(r"<tr id=\"([^\"]+)\"", html) == ["facts-awg18-plain"]


def test_saving_one_row_says_so_where_saving_is_said(client: TestClient) -> None:
    html = client.post(ROW, data={"outside_mm": "2.25"}, headers=SWAP).text
    assert '<p id="status" hx-swap-oob="innerHTML">Saved.</p>' in html


def test_a_refused_row_answers_the_script_with_the_text_as_typed(client: TestClient) -> None:
    answer = client.post(ROW, data={"outside_mm": "thick"}, headers=SWAP)
    assert (answer.status_code, field(answer.text, "f-facts-awg18-plain-outside-mm")) == (422, "thick")


def test_packs_of_wire_are_shown_in_metres(client: TestClient) -> None:
    # The shipped pack of 25000 mm.
    assert field(client.get("/stock/wire").text, "f-packs-wire-awg18-plain-25000-quantity") == "25"


def test_the_price_of_a_metre_is_price_over_length(client: TestClient) -> None:
    # Hand calculation: 61.40 / 82 m = 0.7488, rounded to 0.749.
    assert "0.749" in words(client.post("/stock/wire/packs", data=PACK).text)


def test_an_own_pack_can_be_bought(client: TestClient) -> None:
    client.post("/stock/wire/packs", data=PACK)
    packs = client.get("/api/catalogue/packs").json()["catalogue"]["packs"]
    assert [(pack["quantity"], pack["price"]) for pack in packs if pack["id"].startswith("own-")] == [(82000, "61.40")]


@pytest.mark.parametrize(("typed", "quantity"), [("82 ft", 24993), ("820 cm", 8200), ("12,5", 12500)])
def test_a_roll_may_be_typed_in_any_length(client: TestClient, typed: str, quantity: int) -> None:
    # 82 ft x 304.8 mm = 24993.6 mm, of which 24993 whole millimetres are there.
    client.post("/stock/wire/packs", data={**PACK, "quantity": typed})
    packs = client.get("/api/catalogue/packs").json()["catalogue"]["packs"]
    assert [pack["quantity"] for pack in packs if pack["id"].startswith("own-")] == [quantity]


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"quantity": "many"}, "quantity"),
        ({"quantity": "0"}, "quantity"),
        ({"quantity": "2000"}, "quantity"),
        ({"quantity": "25"}, "quantity"),
        ({"price": "cheap"}, "price"),
        ({"price": "-1"}, "price"),
        ({"item": "no-such-wire"}, "item"),
    ],
)
def test_a_pack_that_cannot_be_is_refused_beside_its_field(
    client: TestClient, changed: dict[str, str], name: str
) -> None:
    answer = client.post("/stock/wire/packs", data={**PACK, **changed})
    assert (answer.status_code, f'id="f-{name}-problem"' in answer.text) == (422, True)


def test_a_refused_pack_keeps_what_was_typed(client: TestClient) -> None:
    html = client.post("/stock/wire/packs", data={**PACK, "price": "cheap"}).text
    assert (field(html, "f-quantity"), field(html, "f-price")) == ("82", "cheap")


def test_an_own_pack_can_be_removed(client: TestClient) -> None:
    address = own_pack(client)
    html = client.post(f"{address}/remove").text
    assert address not in html


def test_a_shipped_pack_offers_no_removal(client: TestClient) -> None:
    assert "/remove" not in client.get("/stock/wire").text


@pytest.mark.parametrize(
    "address",
    [
        "/stock/wire/packs/wire-awg18-plain-25000/remove",
        "/stock/wire/facts/nobodys",
        "/stock/housing/facts/p42-4-plug",
        "/stock/labour/packs",
        "/stock/labour/packs/x",
        f"{ROW}/reset",
        "/stock/wire/other/awg18-plain",
    ],
)
def test_what_cannot_be_edited_is_not_found(client: TestClient, address: str) -> None:
    assert client.post(address, data={"column": "outside_mm", "price": "1"}).status_code == 404


def test_own_minutes_reach_the_plan_of_a_build(client: TestClient) -> None:
    example = sorted(Settings().examples_folder.glob("*.json"))[0].read_bytes()
    client.post("/stock/labour/facts/crimp", data={"minutes": "7.5"})
    lines = client.post("/api/plan", content=example).json()["plan"]["estimate"]["labour"]
    assert [line["minutes_each"] for line in lines if line["operation"] == "crimp"] == ["7.5"]


def test_a_change_asked_for_by_another_site_is_refused(client: TestClient) -> None:
    assert client.post(ROW, data={"outside_mm": "2.25"}, headers={"Origin": "http://evil.example"}).status_code == 403
