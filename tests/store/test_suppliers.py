"""Where the builder buys things: own words by item, kept beside the shipped catalogue."""

import pytest
from sqlalchemy.engine import Engine

from server.domain.errors import InvalidInputError
from server.store.database import reading, writing
from server.store.suppliers import Items, set_suppliers, suppliers


def named(engine: Engine, texts: Items) -> dict[tuple[str, str], str]:
    with writing(engine) as session:
        set_suppliers(session, texts)
    with reading(engine) as session:
        return suppliers(session)


def test_a_supplier_is_kept_with_its_blanks_made_even(engine: Engine) -> None:
    assert named(engine, {("wire", "a"): " Corner \n shop "}) == {("wire", "a"): "Corner shop"}


def test_an_empty_text_takes_a_name_away_and_leaves_the_others(engine: Engine) -> None:
    named(engine, {("wire", "a"): "here", ("comb", "b"): "there"})
    assert named(engine, {("wire", "a"): "", ("cap", "c"): ""}) == {("comb", "b"): "there"}


def test_a_name_is_changed(engine: Engine) -> None:
    named(engine, {("wire", "a"): "here"})
    assert named(engine, {("wire", "a"): "there"}) == {("wire", "a"): "there"}


@pytest.mark.parametrize("text", ["x" * 81, "a\x00b"])
def test_one_wrong_text_keeps_all_of_them_out(engine: Engine, text: str) -> None:
    with pytest.raises(InvalidInputError) as caught:
        named(engine, {("wire", "a"): "here", ("comb", "b"): text})
    assert [problem.field for problem in caught.value.problems] == ["comb.b"]
    with reading(engine) as session:
        assert suppliers(session) == {}


def test_eighty_characters_are_accepted(engine: Engine) -> None:
    assert named(engine, {("wire", "a"): "x" * 80}) == {("wire", "a"): "x" * 80}
