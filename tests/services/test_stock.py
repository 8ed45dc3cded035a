"""What the builder sets in the stock list stands beside the shipped values and can always be taken back."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.config import Settings
from server.domain.errors import InvalidInputError, NotFoundError
from server.services.stock import StockDesk
from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading


class Bench:
    """A stock desk on a fresh database, and the catalogue that a plan would use."""

    def __init__(self, folder: Path) -> None:
        self.engine = open_database(folder / "stock.sqlite3")
        install_catalogue(self.engine, Settings().catalogue_folder)
        self.desk = StockDesk(self.engine)
        self.wire = self.desk.rows("wires")[0]
        self.sleeve = self.desk.rows("sleeves")[0]
        self.pack = self.desk.rows("packs")[0]

    def catalogue(self):  # type: ignore[no-untyped-def]
        with reading(self.engine) as session:
            return read_catalogue(session)

    def problems(self, error: InvalidInputError) -> list[str]:
        return [problem.field for problem in error.problems]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path)
    yield made
    made.engine.dispose()


def test_a_measured_diameter_is_what_plans_use(bench: Bench) -> None:
    bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "2.25"})
    assert bench.catalogue().wires[bench.wire.id].outside_mm == 2.25


def test_the_shipped_value_stands_beside_the_builders(bench: Bench) -> None:
    shipped = bench.wire.value("outside_mm").text
    bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "2.25"})
    value = bench.desk.row("wires", bench.wire.id).value("outside_mm")
    assert (value.shipped, value.own, value.text) == (shipped, "2.25", "2.25")


def test_a_value_taken_back_is_the_shipped_one_again(bench: Bench) -> None:
    bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "2.25"})
    bench.desk.clear_value("wires", bench.wire.id, "outside_mm")
    assert bench.desk.row("wires", bench.wire.id) == bench.wire


def test_typing_the_shipped_value_takes_the_builders_away(bench: Bench) -> None:
    shipped = bench.wire.value("outside_mm").shipped
    bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "2.25"})
    bench.desk.set_values("wires", bench.wire.id, {"outside_mm": f"{shipped}0" if "." in shipped else shipped})
    assert bench.desk.row("wires", bench.wire.id) == bench.wire


def test_a_row_saved_as_it_stands_is_not_an_edit(bench: Bench) -> None:
    bench.desk.set_values("wires", bench.wire.id, {value.column: value.text for value in bench.wire.values})
    assert bench.desk.row("wires", bench.wire.id) == bench.wire


@pytest.mark.parametrize("factor", [0.5, 3.0])
def test_both_ends_of_a_range_may_move_together(bench: Bench, factor: float) -> None:
    # Each new value alone breaks the rule beside the other's old value; together they keep it.
    moved = {
        column: f"{float(bench.sleeve.value(column).text) * factor:.2f}"
        for column in ("relaxed_mm", "least_mm", "greatest_mm")
    }
    bench.desk.set_values("sleeves", bench.sleeve.id, moved)
    row = bench.desk.row("sleeves", bench.sleeve.id)
    assert {column: f"{float(row.value(column).text):.2f}" for column in moved} == moved


def test_a_range_turned_round_is_refused(bench: Bench) -> None:
    with pytest.raises(InvalidInputError) as caught:
        bench.desk.set_values("sleeves", bench.sleeve.id, {"least_mm": "3", "greatest_mm": "2"})
    assert set(bench.problems(caught.value)) & {"least_mm", "greatest_mm"}


def test_a_row_with_one_bad_value_keeps_all_its_old_ones(bench: Bench) -> None:
    with pytest.raises(InvalidInputError):
        bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "2.25", "ohm_per_km": "low"})
    assert bench.desk.row("wires", bench.wire.id) == bench.wire


def test_every_bad_value_of_a_row_is_named(bench: Bench) -> None:
    with pytest.raises(InvalidInputError) as caught:
        bench.desk.set_values("wires", bench.wire.id, {"outside_mm": "-1", "ohm_per_km": "low"})
    assert bench.problems(caught.value) == ["outside_mm", "ohm_per_km"]


def test_a_price_is_kept_to_its_last_digit(bench: Bench) -> None:
    bench.desk.set_values("packs", bench.pack.id, {"price": "7.15"})
    assert bench.desk.row("packs", bench.pack.id).value("price").text == "7.15"


def test_a_pack_of_ones_own_can_be_bought(bench: Bench) -> None:
    made = bench.desk.add_pack("wire", bench.wire.id, "82000", "61.40")
    assert made in {pack.id for pack in bench.catalogue().packs}


def test_a_pack_of_ones_own_can_be_removed(bench: Bench) -> None:
    before = bench.desk.rows("packs")
    bench.desk.remove_pack(bench.desk.add_pack("wire", bench.wire.id, "82000", "61.40"))
    assert bench.desk.rows("packs") == before


def test_a_shipped_pack_cannot_be_removed(bench: Bench) -> None:
    with pytest.raises(NotFoundError):
        bench.desk.remove_pack(bench.pack.id)


def test_the_same_item_in_the_same_quantity_is_added_once(bench: Bench) -> None:
    bench.desk.add_pack("wire", bench.wire.id, "82000", "61.40")
    with pytest.raises(InvalidInputError) as caught:
        bench.desk.add_pack("wire", bench.wire.id, "82000", "60")
    assert bench.problems(caught.value) == ["quantity"]


@pytest.mark.parametrize(("table", "row"), [("families", "p42"), ("wires", "no-such-wire"), ("x" * 500, "y")])
def test_a_row_that_cannot_be_edited_is_not_found(bench: Bench, table: str, row: str) -> None:
    with pytest.raises(NotFoundError):
        bench.desk.row(table, row)


def test_a_column_that_cannot_be_edited_is_refused(bench: Bench) -> None:
    with pytest.raises(InvalidInputError) as caught:
        bench.desk.set_values("wires", bench.wire.id, {"awg": "12"})
    assert bench.problems(caught.value) == ["awg"]
