"""The builder's own values: held to the rules of the catalogue files, told apart from published ones."""

from decimal import Decimal

import pytest

from server.domain.errors import InvalidInputError, NotFoundError
from server.store.catalogue_edits import catalogue_stamp, clear_catalogue_value, list_edits, set_catalogue_value
from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import reading, writing
from server.store.own_packs import add_pack, own_pack_ids, remove_own_pack


def catalogue_of(engine):
    with reading(engine) as session:
        return read_catalogue(session)


def stamp_of(engine):
    with reading(engine) as session:
        return catalogue_stamp(session)


def set_value(engine, *edit):
    with writing(engine) as session:
        set_catalogue_value(session, *edit)


def refusal(engine, *edit):
    with pytest.raises(InvalidInputError) as caught:
        set_value(engine, *edit)
    (problem,) = caught.value.problems
    return problem.field, problem.message


@pytest.mark.parametrize(
    ("table", "row_id", "column", "text", "expected"),
    [
        ("wires", "awg18-plain", "ohm_per_km", "23.7", 23.7),
        ("sleeves", "small", "relaxed_mm", "0.9", 0.9),
        ("shrinks", "small", "piece_mm", "10", 10.0),
        ("combs", "comb-24", "name", "my comb", "my comb"),
        ("contacts", "p42-socket-18", "insulation_max_mm", "3.0", 3.0),
        ("labour", "crimp", "minutes", "0.45", Decimal("0.45")),
    ],
)
def test_the_builders_value_takes_the_place_of_the_shipped_one(loaded, *, table, row_id, column, text, expected):
    set_value(loaded, table, row_id, column, text)

    assert getattr(getattr(catalogue_of(loaded), table)[row_id], column) == expected


def test_a_strip_length_is_replaced_for_one_gauge_of_one_contact(loaded):
    before = {(crimp.contact, crimp.awg): crimp.strip_mm for crimp in catalogue_of(loaded).crimps}

    set_value(loaded, "crimps", "p42-socket-18.20", "strip_mm", "2.9")

    after = {(crimp.contact, crimp.awg): crimp.strip_mm for crimp in catalogue_of(loaded).crimps}
    assert after == {**before, ("p42-socket-18", 20): 2.9}


def test_a_price_is_replaced(loaded):
    pack = catalogue_of(loaded).packs[0]

    set_value(loaded, "packs", pack.id, "price", "4.05")

    assert catalogue_of(loaded).packs[0].price == Decimal("4.05")


def test_a_replaced_measure_no_longer_claims_the_published_source(loaded):
    set_value(loaded, "wires", "awg18-plain", "outside_mm", "2.2")

    assert catalogue_of(loaded).wires["awg18-plain"].source == "measured by the builder"


def test_a_new_name_leaves_the_source_alone(loaded):
    before = catalogue_of(loaded).wires["awg18-plain"].source

    set_value(loaded, "wires", "awg18-plain", "name", "the thick roll")

    assert catalogue_of(loaded).wires["awg18-plain"].source == before


def test_the_builder_may_name_the_source(loaded):
    set_value(loaded, "wires", "awg18-plain", "outside_mm", "2.2")
    set_value(loaded, "wires", "awg18-plain", "source", "maker's data sheet")

    assert catalogue_of(loaded).wires["awg18-plain"].source == "maker's data sheet"


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (("wires", "awg18-plain", "outside_mm", "thick"), "must be a number written with digits and a decimal point"),
        (("wires", "awg18-plain", "outside_mm", ""), "must be a number written with digits and a decimal point"),
        (("wires", "awg18-plain", "outside_mm", "99"), "is out of range: must be at most 10"),
        (("shrinks", "small", "recovered_mm", "9"), "must be below supplied_mm"),
        (("shrinks", "small", "supplied_mm", "1"), "recovered_mm must be below supplied_mm"),
        (("wires", "awg18-plain", "awg", "16"), "awg of wires cannot be edited"),
        (("wires", "awg18-plain", "source", ""), "every row must name its source"),
        (("housings", "p42-24-plug", "positions", "20"), "positions of housings cannot be edited"),
    ],
)
def test_a_value_that_breaks_a_rule_is_refused_beside_its_field(loaded, edit, message):
    assert refusal(loaded, *edit) == (edit[2], message)


def test_a_refused_value_changes_nothing(loaded):
    before = catalogue_of(loaded)

    refusal(loaded, "wires", "awg18-plain", "outside_mm", "99")

    assert catalogue_of(loaded) == before


def test_a_row_that_does_not_exist_cannot_be_edited(loaded):
    with writing(loaded) as session, pytest.raises(NotFoundError):
        set_catalogue_value(session, "wires", "awg99-plain", "outside_mm", "2")


def test_clearing_brings_the_shipped_row_back(loaded):
    before = catalogue_of(loaded)
    set_value(loaded, "wires", "awg18-plain", "outside_mm", "2.2")

    with writing(loaded) as session:
        clear_catalogue_value(session, "wires", "awg18-plain", "outside_mm")

    assert catalogue_of(loaded) == before


def test_clearing_is_refused_while_another_own_value_rests_on_it(loaded):
    # Shipped: 3.18 supplied, 1.58 recovered. With 9 supplied, 5 recovered is possible; without, it is not.
    set_value(loaded, "shrinks", "small", "supplied_mm", "9")
    set_value(loaded, "shrinks", "small", "recovered_mm", "5")

    with writing(loaded) as session, pytest.raises(InvalidInputError, match="recovered_mm must be below supplied_mm"):
        clear_catalogue_value(session, "shrinks", "small", "supplied_mm")


def test_clearing_what_was_never_set_is_told(loaded):
    with writing(loaded) as session, pytest.raises(NotFoundError):
        clear_catalogue_value(session, "wires", "awg18-plain", "outside_mm")


def test_the_list_of_edits_shows_what_was_typed(loaded):
    set_value(loaded, "wires", "awg18-plain", "outside_mm", " 2.20 ")

    with reading(loaded) as session:
        (edit,) = list_edits(session)
    assert (edit.table, edit.row_id, edit.column, edit.text, edit.applies) == (
        "wires",
        "awg18-plain",
        "outside_mm",
        "2.20",
        True,
    )


def test_an_edit_that_a_new_catalogue_contradicts_is_kept_but_said_not_to_apply(loaded, folder):
    set_value(loaded, "shrinks", "small", "recovered_mm", "2")
    path = folder / "shrinks.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("3.18,1.58", "1.9,0.9"), encoding="utf-8")
    (folder / "version.csv").write_text("version,source\nnext,test\n", encoding="utf-8")

    install_catalogue(loaded, folder)

    with reading(loaded) as session:
        assert [edit.applies for edit in list_edits(session)] == [False]
    assert catalogue_of(loaded).shrinks["small"].recovered_mm == 0.9


def test_an_own_pack_can_be_bought_beside_the_shipped_ones(loaded):
    with writing(loaded) as session:
        pack = add_pack(session, kind="wire", item="awg18-plain", quantity="50000", price="29.90")

    assert pack in catalogue_of(loaded).packs
    assert (pack.unit, pack.price, pack.quantity) == ("mm", Decimal("29.90"), 50000)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"item": "awg99-plain"}, "item"),
        ({"quantity": "5000"}, "quantity"),
        ({"quantity": "many"}, "quantity"),
        ({"price": "-1"}, "price"),
        ({"kind": "soup"}, "kind"),
    ],
)
def test_a_bad_own_pack_is_refused_beside_its_field(loaded, values, field):
    good = {"kind": "wire", "item": "awg18-plain", "quantity": "7000", "price": "5"}

    with writing(loaded) as session, pytest.raises(InvalidInputError) as caught:
        add_pack(session, **{**good, **values})

    assert [problem.field for problem in caught.value.problems] == [field]


def test_a_pack_cannot_be_edited_into_a_twin_of_another(loaded):
    assert refusal(loaded, "packs", "wire-awg18-plain-5000", "quantity", "10000")[0] == "quantity"


def test_an_own_pack_is_removed_with_its_edits(loaded):
    before = stamp_of(loaded)
    with writing(loaded) as session:
        pack = add_pack(session, kind="wire", item="awg18-plain", quantity="50000", price="29.90")
        set_catalogue_value(session, "packs", pack.id, "price", "28")
        remove_own_pack(session, pack.id)

    assert stamp_of(loaded) == before


def test_a_shipped_pack_cannot_be_removed(loaded):
    with writing(loaded) as session, pytest.raises(NotFoundError):
        remove_own_pack(session, "wire-awg18-plain-5000")


def test_own_packs_are_told_apart_from_shipped_ones(loaded):
    with writing(loaded) as session:
        pack = add_pack(session, kind="cap", item="satad-end", quantity="50", price="12")

    with reading(loaded) as session:
        assert own_pack_ids(session) == {pack.id}


def test_the_stamp_stands_still_while_nothing_changes(loaded):
    assert stamp_of(loaded) == stamp_of(loaded)


def test_the_stamp_changes_with_an_edit(loaded):
    before = stamp_of(loaded)

    set_value(loaded, "wires", "awg18-plain", "outside_mm", "2.2")

    assert stamp_of(loaded) != before


def test_the_stamp_changes_with_an_own_pack(loaded):
    before = stamp_of(loaded)

    with writing(loaded) as session:
        add_pack(session, kind="cap", item="satad-end", quantity="50", price="12")

    assert stamp_of(loaded) != before


def test_the_stamp_changes_with_the_version(loaded, folder):
    before = stamp_of(loaded)
    (folder / "version.csv").write_text("version,source\nnext,test\n", encoding="utf-8")

    install_catalogue(loaded, folder)

    assert stamp_of(loaded) != before
