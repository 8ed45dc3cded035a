"""Crimps as the stock page shows them: a row for each contact and gauge, named by both."""

from server.store.catalogue_edits import clear_catalogue_value, set_catalogue_value
from server.store.database import reading, writing
from server.store.stock_rows import lost_edits, stock_rows


def crimp_row(engine, row_id):
    with reading(engine) as session:
        (found,) = [row for row in stock_rows(session, "crimps") if row.id == row_id]
        return found


def test_a_crimp_is_named_by_its_gauge_and_contact(loaded):
    assert crimp_row(loaded, "p42-socket-18.20").name == "20 AWG in 4.2 mm socket, 18 to 24 AWG"


def test_the_builders_strip_length_stands_beside_the_shipped_one(loaded):
    with writing(loaded) as session:
        set_catalogue_value(session, "crimps", "p42-socket-18.20", "strip_mm", "2.9")

    value = crimp_row(loaded, "p42-socket-18.20").value("strip_mm")

    # crimps.csv read by hand: 3.3 mm.
    assert (value.text, value.shipped, value.own) == ("2.9", "3.3", "2.9")


def test_the_same_gauge_in_another_contact_keeps_its_own(loaded):
    with writing(loaded) as session:
        set_catalogue_value(session, "crimps", "p42-socket-18.20", "strip_mm", "2.9")

    assert crimp_row(loaded, "p42-pin-18.20").value("strip_mm").own is None


def test_a_strip_length_taken_back_is_the_shipped_one_again(loaded):
    before = crimp_row(loaded, "p42-socket-18.20")
    with writing(loaded) as session:
        set_catalogue_value(session, "crimps", "p42-socket-18.20", "strip_mm", "2.9")

    with writing(loaded) as session:
        clear_catalogue_value(session, "crimps", "p42-socket-18.20", "strip_mm")

    assert crimp_row(loaded, "p42-socket-18.20") == before


def test_a_value_of_a_crimp_that_is_in_the_catalogue_is_not_lost(loaded):
    with writing(loaded) as session:
        set_catalogue_value(session, "crimps", "p42-socket-18.20", "die", "the red tool")

    with reading(loaded) as session:
        assert lost_edits(session) == ()
