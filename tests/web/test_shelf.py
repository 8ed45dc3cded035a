"""The shelf across builds: lots, keeping for builds, adjusting, throwing away, and stock-taking by form and by file."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import pytest
from fastapi.testclient import TestClient
from httpx import Response
from openpyxl import Workbook, load_workbook

from server.app import create_app
from server.config import Settings
from server.domain.model.bench import Cut, Lot, Material, Receive, Release, Reserve, ScrapStock
from server.services.bench import BenchDesk
from tests.web.reading import all_of, beside, by_id, field, page, words

RED = Material("wire", "awg18-plain", "RD")
BLACK = Material("wire", "awg18-plain", "BK")
CAPS = Material("housing", "p42-24-plug", "")
NEW = {
    "material": "wire/awg18-plain",
    "colour": "RD",
    "quantity": "3.2 m",
    "count": "1",
    "price": "",
    "origin": "found in the drawer",
    "build": "",
}


@dataclass(frozen=True)
class Shelf:
    """An empty shelf, and two builds that share it."""

    client: TestClient
    desk: BenchDesk
    mine: str
    other: str
    start: int
    """Number of the ledger's last entry before the test."""

    def lots(self) -> list[Lot]:
        return [lot for lot in self.desk.bench().lots.values() if lot.id > self.start]

    @property
    def written(self) -> int:
        """Entries written by the test."""
        return self.desk.bench().entries - self.start

    def put(self, material: Material, quantity: int, price: str = "0", origin: str = "found") -> int:
        return self.desk.write(Receive(material, quantity, Decimal(price), origin))

    def post(self, where: str, **data: str) -> Response:
        sent = {"base": str(self.desk.bench().entries), **data}
        return self.client.post(f"/shelf{where}", data=sent)

    def left(self, lot: int) -> int:
        return self.desk.bench().lots[lot].left

    def bring(self, data: bytes, reason: str = "") -> Response:
        return self.client.post("/shelf/count/file", files={"file": ("list", data)}, data={"reason": reason})

    def apply(self, shown: Response) -> Response:
        """Confirm what a stock-taking shows."""
        form = next(form for form in page(shown.text).iter("form") if form.get("action") == "/shelf/count/apply")
        return self.client.post(
            "/shelf/count/apply", data={str(e.get("name")): str(e.get("value")) for e in form.iter("input")}
        )


@pytest.fixture(scope="module")
def planner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("shelf"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", follow_redirects=False) as client:
        yield client


@pytest.fixture
def shelf(planner: TestClient) -> Shelf:
    """The ledger is never emptied, so what an earlier test left on the shelf is thrown away."""
    state = planner.app.state  # type: ignore[attr-defined]
    desk: BenchDesk = state.bench
    lots = desk.bench().lots.values()
    desk.write_all([Release(lot.id, build, amount) for lot in lots for build, amount in lot.reserved.items()])
    desk.write_all([ScrapStock(lot.id, lot.left, "an earlier test") for lot in lots if lot.left])
    mine, other = (state.desk.create(name).build_id for name in ("Walnut case", "Glass case"))
    return Shelf(planner, desk, mine, other, desk.bench().entries)


def told(answer: Response) -> str:
    return words(by_id(page(answer.text), "work"))


# ---- receiving -----------------------------------------------------------------------------------------------------


def test_a_remnant_received_by_hand_lies_on_the_shelf(shelf: Shelf) -> None:
    assert shelf.post("", **NEW).status_code == 303
    assert [(lot.material, lot.left, lot.origin) for lot in shelf.lots()] == [(RED, 3200, "found in the drawer")]


def test_equal_lots_are_received_at_once_each_at_its_price(shelf: Shelf) -> None:
    shelf.post("", **{**NEW, "count": "3", "price": "2,50"})
    # By hand: three lots of 3200 mm, each worth 2.50.
    assert [lot.unit_price * lot.left for lot in shelf.lots()] == [Decimal("2.50")] * 3


@pytest.mark.parametrize(
    ("typed", "held"),
    [
        ("612", 612),
        ("12 in", 304),  # 12 x 25.4 = 304.8, and a remnant is never counted longer than it is.
        ("2' 3\"", 685),  # 27 x 25.4 = 685.8
        ("25 m", 25_000),
        ("61,5 cm", 615),
    ],
)
def test_a_length_is_read_with_its_unit_and_never_rounded_up(shelf: Shelf, typed: str, held: int) -> None:
    shelf.post("", **{**NEW, "quantity": typed})
    assert [lot.left for lot in shelf.lots()] == [held]


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("material", "", "Pick what it is"),
        ("material", "wire/awg99-plain", "Pick one of the list"),
        ("material", "gold/bar", "Pick one of the list"),
        ("colour", "", "Pick its colour"),
        ("colour", "ZZ", "Pick a colour"),
        ("quantity", "", "Write a length"),
        ("quantity", "-3 m", "cannot be negative"),
        ("quantity", "0", "more than zero"),
        ("quantity", "lots", "Write a length"),
        ("quantity", "1001 m", "Longer than 1000 m"),
        ("count", "0", "from 1 to 200"),
        ("count", "2.5", "from 1 to 200"),
        ("price", "-1", "from 0 to"),
        ("price", "nan", "from 0 to"),
        ("origin", "", "where it came from"),
        ("origin", "x" * 121, "at most 120"),
        ("build", "nobody", "Pick a build"),
    ],
)
def test_a_wrong_value_is_told_beside_its_field_and_stays_typed(shelf: Shelf, name: str, typed: str, said: str) -> None:
    answer = shelf.post("", **{**NEW, name: typed})
    tree = page(answer.text)
    assert answer.status_code == 422
    assert said in beside(tree, name)
    assert shelf.lots() == []
    others = {key: text for key, text in NEW.items() if key != name and field(tree, key).tag == "input"}
    assert {key: field(tree, key).get("value") for key in others} == others


def test_a_colour_is_refused_for_what_has_none(shelf: Shelf) -> None:
    answer = shelf.post("", **{**NEW, "material": f"housing/{CAPS.item}", "quantity": "4"})
    assert "Only wire and sleeve" in beside(page(answer.text), "colour")


def test_a_double_click_receives_once(shelf: Shelf) -> None:
    base = str(shelf.start)
    shelf.post("", base=base, **NEW)
    assert shelf.post("", base=base, **NEW).status_code == 422
    assert len(shelf.lots()) == 1


def test_what_was_received_can_be_taken_back_from_its_message(shelf: Shelf) -> None:
    where = shelf.post("", **{**NEW, "count": "2"}).headers["location"]
    form = next(f for f in page(shelf.client.get(where).text).iter("form") if f.get("action") == "/shelf/undo")
    shelf.client.post("/shelf/undo", data={str(e.get("name")): str(e.get("value")) for e in form.iter("input")})
    assert shelf.lots() == []


# ---- the list ------------------------------------------------------------------------------------------------------


def test_lots_stand_by_material_and_colour_with_length_count_origin_and_value(shelf: Shelf) -> None:
    first, second = (shelf.put(RED, 3200, "1.60", "left over") for _ in range(2))
    rows = all_of(by_id(page(shelf.client.get("/shelf").text), "work"), "tr")
    # By hand: two lots of 3.2 m, 6.4 m together, worth 3.20.
    assert any("RD red 2 lots, 6.4 m" in words(row) for row in rows)
    cells = [words(td) for td in all_of(rows[-1], "td")]
    assert cells == ["2 ×", "3.2 m each", f"{first} {second}", "left over", "", "3.20"]


def test_the_list_can_be_kept_to_one_material(shelf: Shelf) -> None:
    shelf.put(RED, 3200)
    shelf.put(CAPS, 4, origin="a bag of them")
    shown = told(shelf.client.get("/shelf?material=wire/awg18-plain"))
    assert ("3.2 m" in shown, "a bag of them" in shown) == (True, False)


@pytest.mark.parametrize(("length", "marked"), [(99, True), (100, False)])
def test_a_remnant_below_the_least_useful_length_is_marked(shelf: Shelf, length: int, marked: bool) -> None:
    # The least useful remnant is 100 mm where a build does not say otherwise.
    shelf.put(RED, length)
    cells = [words(td) for td in all_of(page(shelf.client.get("/shelf").text), "td")]
    assert any("short" in cell for cell in cells) is marked


def test_what_is_used_up_is_no_longer_listed(shelf: Shelf) -> None:
    lot = shelf.put(RED, 500)
    shelf.desk.write(Cut(lot, shelf.mine, "r1/p1.main/1", "1-1", 1, 500))
    assert "Nothing here yet" in told(shelf.client.get("/shelf"))


def test_a_text_of_the_builders_is_never_markup(shelf: Shelf) -> None:
    lot = shelf.put(RED, 500, origin="<script>alert(1)</script>")
    assert "<script>alert" not in shelf.client.get("/shelf").text + shelf.client.get(f"/shelf/{lot}").text


@pytest.mark.parametrize("address", ["/shelf", "/shelf/{lot}", "/shelf/count"])
def test_every_field_has_a_label_and_no_id_stands_twice(shelf: Shelf, address: str) -> None:
    lot = shelf.put(RED, 5000)
    shelf.desk.write(Reserve(lot, shelf.mine, 100))
    tree = page(shelf.client.get(address.format(lot=lot)).text)
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    labelled = {e.get("for") for e in tree.iter("label")}
    shown = [e for tag in ("input", "select") for e in tree.iter(tag) if e.get("type") != "hidden"]
    assert [e.get("name") for e in shown if e.get("id") not in labelled] == []


@pytest.mark.parametrize("address", ["/shelf/999999", "/shelf/x", "/shelf/export.pdf", "/shelf/0"])
def test_what_does_not_exist_is_not_found(shelf: Shelf, address: str) -> None:
    assert shelf.client.get(address).status_code == 404


@pytest.mark.parametrize("address", ["/", "/stock/wire"])
def test_the_shelf_is_reached_from_the_other_pages(shelf: Shelf, address: str) -> None:
    tree = page(shelf.client.get(address).text)
    assert "/shelf" in [a.get("href") for a in tree.iter("a")]


# ---- one lot -------------------------------------------------------------------------------------------------------


def test_a_lot_is_kept_for_a_build_and_released(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    shelf.post(f"/{lot}/keep", **{"keep.build": shelf.mine, "keep.quantity": "3 m"})
    assert dict(shelf.desk.bench().lots[lot].reserved) == {shelf.mine: 3000}
    shelf.post(f"/{lot}/release", build=shelf.mine, **{f"release.{shelf.mine}": "1 m"})
    assert dict(shelf.desk.bench().lots[lot].reserved) == {shelf.mine: 2000}


def test_everything_that_is_kept_for_a_build_is_released_at_once(shelf: Shelf) -> None:
    lots = [shelf.put(RED, 5000), shelf.put(BLACK, 700)]
    for lot, build, amount in ((lots[0], shelf.mine, 100), (lots[0], shelf.other, 50), (lots[1], shelf.mine, 700)):
        shelf.desk.write(Reserve(lot, build, amount))
    shelf.post("/release", build=shelf.mine)
    assert [dict(lot.reserved) for lot in shelf.lots()] == [{shelf.other: 50}, {}]


def test_the_second_build_that_wants_the_last_metre_is_told_who_keeps_it(shelf: Shelf) -> None:
    lot = shelf.put(RED, 1000)
    shelf.desk.write(Reserve(lot, shelf.other, 1000))
    answer = shelf.post(f"/{lot}/keep", **{"keep.build": shelf.mine, "keep.quantity": "1000"})
    assert answer.status_code == 422
    assert "Glass case" in beside(page(answer.text), "keep.quantity")
    assert dict(shelf.desk.bench().lots[lot].reserved) == {shelf.other: 1000}


def test_a_count_is_adjusted_with_its_reason(shelf: Shelf) -> None:
    lot = shelf.put(RED, 1000)
    shelf.post(f"/{lot}/adjust", **{"adjust.quantity": "90 cm", "adjust.reason": "mice"})
    assert shelf.left(lot) == 900
    assert "mice" in told(shelf.client.get(f"/shelf/{lot}"))


def test_some_of_a_lot_is_thrown_away_with_its_reason(shelf: Shelf) -> None:
    lot = shelf.put(CAPS, 10)
    shelf.post(f"/{lot}/scrap", **{"scrap.quantity": "4", "scrap.reason": "cracked"})
    assert (shelf.left(lot), shelf.desk.bench().lots[lot].scrapped) == (6, 4)


@pytest.mark.parametrize(
    ("form", "name", "typed", "said"),
    [
        ("keep", "keep.build", "", "Pick the build"),
        ("keep", "keep.quantity", "5001", "5000 mm left"),
        ("keep", "keep.quantity", "0", "more than zero"),
        ("adjust", "adjust.reason", "", "Say why"),
        ("adjust", "adjust.quantity", "-1", "cannot be negative"),
        ("adjust", "adjust.quantity", "", "Write a length"),
        ("scrap", "scrap.reason", " ", "Say why"),
        ("scrap", "scrap.quantity", "5001", "5000 mm left"),
    ],
)
def test_a_wrong_value_on_a_lot_is_told_beside_its_field(
    shelf: Shelf, form: str, name: str, typed: str, said: str
) -> None:
    lot = shelf.put(RED, 5000)
    good = {
        "keep.build": shelf.mine,
        "keep.quantity": "1",
        "adjust.quantity": "1",
        "adjust.reason": "x",
        "scrap.quantity": "1",
        "scrap.reason": "x",
    }
    sent = {key: text for key, text in good.items() if key.startswith(form)}
    answer = shelf.post(f"/{lot}/{form}", **{**sent, name: typed})
    assert answer.status_code == 422
    assert said in beside(page(answer.text), name)
    assert shelf.written == 1


def test_an_entry_that_others_lean_on_is_not_taken_back(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    shelf.desk.write(Reserve(lot, shelf.mine, 3000))
    answer = shelf.post("/undo", entries=str(lot), back=f"/shelf/{lot}")
    assert answer.status_code == 422
    assert f"leans on entry {lot}" in told(answer)
    assert shelf.left(lot) == 5000


def test_a_way_back_never_leads_away_from_the_shelf(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    answer = shelf.post("/undo", entries=str(lot), back="//elsewhere.example/")
    assert answer.headers["location"].startswith("/shelf?")


# ---- stock-taking by form ------------------------------------------------------------------------------------------


def test_counts_are_shown_before_anything_is_written(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    shown = shelf.post("/count", **{f"count.{lot}": "4.5 m", "reason": "spring"})
    assert "−500 mm" in told(shown)
    assert shelf.left(lot) == 5000


def test_confirmed_counts_are_written_with_their_reason(shelf: Shelf) -> None:
    lot, same = shelf.put(RED, 5000), shelf.put(BLACK, 700)
    shelf.apply(shelf.post("/count", **{f"count.{lot}": "4500", f"count.{same}": "700", "reason": "spring"}))
    assert (shelf.left(lot), shelf.left(same), shelf.written) == (4500, 700, 3)


def test_a_lot_that_changed_after_counting_is_counted_again(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    shown = shelf.post("/count", **{f"count.{lot}": "4500", "reason": ""})
    shelf.desk.write(Cut(lot, shelf.mine, "r1/p1.main/1", "1-1", 1, 400))
    answer = shelf.apply(shown)
    assert answer.status_code == 422
    assert "count it again" in told(answer)
    assert shelf.left(lot) == 4600


def test_a_count_below_what_one_build_keeps_shrinks_its_share(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000)
    shelf.desk.write(Reserve(lot, shelf.other, 4000))
    shown = shelf.post("/count", **{f"count.{lot}": "3 m"})
    assert "Glass case then keeps only 3 m" in told(shown)
    shelf.apply(shown)
    assert dict(shelf.desk.bench().lots[lot].reserved) == {shelf.other: 3000}


def test_a_count_below_what_several_builds_keep_is_named_and_the_others_go_on(shelf: Shelf) -> None:
    lot, black = shelf.put(RED, 5000), shelf.put(BLACK, 700)
    shelf.desk.write_all([Reserve(lot, shelf.mine, 3000), Reserve(lot, shelf.other, 1000)])
    shown = shelf.post("/count", **{f"count.{lot}": "3 m", f"count.{black}": "600"})
    said = ("3000 mm for Walnut case", "1000 mm for Glass case", "Release 1000 mm of it first")
    assert [part for part in said if part not in told(shown)] == []
    shelf.apply(shown)
    assert (shelf.left(lot), shelf.left(black)) == (5000, 600)


@pytest.mark.parametrize("counts", ["", "[]x", '[[1, "a", 2, "x"]]', "[[1]]", "null"])
def test_a_tampered_confirmation_writes_nothing(shelf: Shelf, counts: str) -> None:
    lot = shelf.put(RED, 5000)
    assert shelf.post("/count/apply", counts=counts).status_code == 422
    assert shelf.left(lot) == 5000


# ---- stock-taking by file ------------------------------------------------------------------------------------------


def exported(shelf: Shelf, change: dict[str, object], kind: str = "xlsx") -> bytes:
    """The exported list with cells changed by the builder."""
    data = shelf.client.get(f"/shelf/export.{kind}").content
    book = load_workbook(io.BytesIO(data))
    for where, value in change.items():
        book.active[where] = value
    changed = io.BytesIO()
    book.save(changed)
    return changed.getvalue()


def test_a_list_that_comes_back_unchanged_changes_nothing(shelf: Shelf) -> None:
    shelf.put(RED, 5000)
    shelf.put(CAPS, 12)
    for kind in ("csv", "xlsx"):
        assert "holds no count" in told(shelf.bring(shelf.client.get(f"/shelf/export.{kind}").content))
    assert shelf.written == 2


def test_changed_quantities_are_shown_and_then_written(shelf: Shelf) -> None:
    red, caps = shelf.put(RED, 5000), shelf.put(CAPS, 12)
    # Columns of the list: A lot, H counted in mm, I counted in pieces, J reason; wire stands before housings.
    shown = shelf.bring(exported(shelf, {"H2": 4800, "I3": 11, "J3": "one lent"}), "winter")
    assert (shelf.left(red), shelf.left(caps)) == (5000, 12)
    shelf.apply(shown)
    assert (shelf.left(red), shelf.left(caps)) == (4800, 11)
    assert "winter" in told(shelf.client.get(f"/shelf/{red}"))
    assert "one lent" in told(shelf.client.get(f"/shelf/{caps}"))


def test_the_exported_list_has_typed_cells_and_units_in_its_headings(shelf: Shelf) -> None:
    lot = shelf.put(RED, 5000, "2.50", "=1+1")
    place = load_workbook(io.BytesIO(shelf.client.get("/shelf/export.xlsx").content)).active
    assert [place[c].value for c in ("F1", "G1", "H1")] == ["left, mm", "left, pieces", "counted, mm"]
    assert [(place[c].value, place[c].data_type) for c in ("A2", "F2", "L2", "M2")] == [
        (lot, "n"),
        (5000, "n"),
        ("=1+1", "s"),
        (2.5, "n"),
    ]
    text = shelf.client.get("/shelf/export.csv").content.decode("utf-8-sig")
    row = next(csv.DictReader(io.StringIO(text, newline="")))
    assert row["came from"] == "'=1+1"


@pytest.mark.parametrize(("typed", "held"), [("12 in", 304), ("3.2 m", 3200), (" 612 ", 612), (612.9, 612), ("0", 0)])
def test_lengths_in_a_list_may_carry_their_unit(shelf: Shelf, typed: object, held: int) -> None:
    lot = shelf.put(RED, 5000)
    shelf.apply(shelf.bring(exported(shelf, {"H2": typed})))
    assert shelf.left(lot) == held


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"H2": "many"}, "row 2, column H: “many”: Write a length"),
        ({"H2": -5}, "row 2, column H: “-5”: A length cannot be negative"),
        ({"H2": "=5000-200"}, "row 2, column H: This is a formula"),
        ({"I2": 3}, "row 2, column I: lot {lot} is counted by its length"),
        ({"H3": 3}, "row 3, column H: lot {caps} is counted by the piece"),
        ({"I3": 2.5}, "row 3, column I: “2.5”: Write a whole number"),
        ({"I3": -2}, "row 3, column I: “-2”: A number of pieces cannot be negative"),
        ({"A2": 777777}, "row 2, column A: the shelf has no lot “777777”"),
        ({"A2": "one"}, "row 2, column A: “one” is no number of a lot"),
        ({"A2": None, "H2": 4000}, "row 2, column A: the number of the lot is missing"),
        (
            {"H2": 4100, "A3": "{lot}", "C3": None, "D3": None, "H3": 4000},
            "row 3, column A: lot {lot} stands in row 2 already",
        ),
        ({"A2": "{caps}", "A3": "{lot}"}, "Was one column sorted alone?"),
        ({"D2": "BK"}, "row 2, column D: “BK”, but lot {lot} is “RD”"),
        (
            {"H2": 900},
            "row 2, column H: “900”: lot {lot} is kept for several builds: ",
        ),
        ({"N2": 999999}, "row 2, column N: “999999” is no entry of this ledger"),
        ({"H2": 4000, "J2": "x" * 121}, "row 2, column J: 121 characters"),
        ({"H1": "length"}, "counted, pieces"),
        ({"A1": "number"}, "no column “lot”"),
    ],
)
def test_whatever_is_wrong_in_a_list_is_named_with_row_and_column_and_nothing_is_written(
    shelf: Shelf, change: dict[str, object], said: str
) -> None:
    lot, caps = shelf.put(RED, 5000), shelf.put(CAPS, 12)
    shelf.desk.write_all([Reserve(lot, shelf.mine, 1000), Reserve(lot, shelf.other, 50)])
    if change == {"H1": "length"}:
        change = {"H1": "length", "I1": "number of pieces"}
    filled = {
        where: value.format(lot=lot, caps=caps) if isinstance(value, str) else value for where, value in change.items()
    }
    answer = shelf.bring(exported(shelf, filled))
    assert answer.status_code == 422
    assert said.format(lot=lot, caps=caps).casefold() in told(answer).casefold()
    assert (shelf.left(lot), shelf.left(caps), shelf.written) == (5000, 12, 4)


def test_every_problem_of_a_list_is_named_at_once(shelf: Shelf) -> None:
    shelf.put(RED, 5000)
    shelf.put(CAPS, 12)
    shown = told(shelf.bring(exported(shelf, {"H2": "many", "I3": "few"})))
    assert "Row 2, column H" in shown
    assert "Row 3, column I" in shown


def test_a_list_with_its_own_sheets_columns_and_empty_rows_is_read(shelf: Shelf) -> None:
    red, black = shelf.put(RED, 5000), shelf.put(BLACK, 700)
    book = Workbook()
    book.active.append(["my notes"])
    place = book.create_sheet("counted on Friday")
    place.append(["Shelf, counted on Friday"])
    place.append(["where", "COUNTED,  MM", "Lot"])
    for _ in range(3000):
        place.append(["", None, ""])
    place.append(["box 1", 4321, red])
    place.append(["box 2", None, black])
    data = io.BytesIO()
    book.save(data)
    shelf.apply(shelf.bring(data.getvalue()))
    assert (shelf.left(red), shelf.left(black)) == (4321, 700)


def test_merged_counts_are_refused(shelf: Shelf) -> None:
    shelf.put(RED, 5000)
    shelf.put(BLACK, 700)
    book = load_workbook(io.BytesIO(shelf.client.get("/shelf/export.xlsx").content))
    book.active.merge_cells("H2:H3")
    data = io.BytesIO()
    book.save(data)
    assert "Row 2, column H: merged cells" in told(shelf.bring(data.getvalue()))


@pytest.mark.parametrize("data", [b"", b"PK nonsense", b"\x00\x01\x02", b"hello", b"{}", b"lot\n"])
def test_a_file_that_is_no_list_is_refused_beside_its_field(shelf: Shelf, data: bytes) -> None:
    shelf.put(RED, 5000)
    answer = shelf.bring(data)
    assert answer.status_code == 422
    assert beside(page(answer.text), "file")


def test_an_older_list_says_so_and_names_the_lots_that_changed_since(shelf: Shelf) -> None:
    red, black = shelf.put(RED, 5000), shelf.put(BLACK, 700)
    # Black wire stands before red; both are counted, and red is cut before the list comes back.
    data = exported(shelf, {"H2": 650, "H3": 4000})
    shelf.desk.write(Cut(red, shelf.mine, "r1/p1.main/1", "1-1", 1, 400))
    shown = told(shelf.bring(data))
    assert "This list is older: 1 entry was written since" in shown
    assert f"Changed since: lot {red} ." in shown.replace(f"lot {red}.", f"lot {red} .")
    assert f"Changed since: lot {black}" not in shown


def test_a_count_like_the_older_list_does_not_take_back_what_was_cut_since(shelf: Shelf) -> None:
    red = shelf.put(RED, 5000)
    data = exported(shelf, {"H2": 5000})
    shelf.desk.write(Cut(red, shelf.mine, "r1/p1.main/1", "1-1", 1, 400))
    assert "Nothing differs" in told(shelf.bring(data))


def test_a_count_above_what_was_ever_received_is_marked(shelf: Shelf) -> None:
    shelf.put(RED, 5000)
    assert "more than was ever received" not in told(shelf.bring(exported(shelf, {"H2": 4999})))
    assert "▲ more than was ever received" in told(shelf.bring(exported(shelf, {"H2": 5001})))


def test_the_exported_workbook_guards_what_was_left_and_opens_what_is_counted(shelf: Shelf) -> None:
    shelf.put(RED, 5000)
    place = load_workbook(io.BytesIO(shelf.client.get("/shelf/export.xlsx").content)).active
    assert place.protection.sheet
    assert [place[c].protection.locked for c in ("F2", "H2", "J2")] == [True, False, False]
