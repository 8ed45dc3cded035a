"""Builds, their revisions and share links."""

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.store.builds import (
    append_revision,
    create_build,
    delete_build,
    latest_revision,
    list_builds,
    list_deleted_builds,
    restore_build,
    revision,
    revisions,
)
from server.store.database import reading, writing
from server.store.shares import create_share, find_share, list_shares, revoke_share


def new(session, build_id="b1", name="Tower", at="2025-01-01T10:00:00Z", document='{"n": 1}'):
    return create_build(session, build_id, name=name, document=document, words=("started",), saved_at=at)


def save(session, *, expected, document='{"n": 2}', words=("longer run",), build_id="b1", name="Tower"):
    at = f"2025-01-02T10:00:0{expected}Z"
    return append_revision(session, build_id, expected=expected, name=name, document=document, words=words, saved_at=at)


def test_a_new_build_is_revision_one(engine):
    with writing(engine) as session:
        assert new(session).number == 1


def test_a_document_comes_back_to_the_letter(engine):
    document = '{"name": "Täter – 12 V"}\n' * 5000
    with writing(engine) as session:
        new(session, document=document)

    with reading(engine) as session:
        assert latest_revision(session, "b1").document == document


def test_an_id_is_not_used_twice(engine):
    with writing(engine) as session:
        new(session)
        delete_build(session, "b1")
        with pytest.raises(InvalidInputError):
            new(session)


def test_saving_adds_the_next_revision(engine):
    with writing(engine) as session:
        new(session)
        saved = save(session, expected=1)

    assert (saved.number, saved.document, saved.words) == (2, '{"n": 2}', ("longer run",))


def test_an_old_revision_stays_as_it_was(engine):
    with writing(engine) as session:
        first = new(session)
        save(session, expected=1, name="Tower renamed")

    with reading(engine) as session:
        assert revision(session, "b1", 1) == first


@pytest.mark.parametrize(
    "statement", ["UPDATE build_revision SET name = 'x'", "DELETE FROM build_revision"], ids=["change", "removal"]
)
def test_the_database_itself_refuses_to_touch_a_saved_revision(engine, statement):
    with writing(engine) as session:
        new(session)

    with pytest.raises(IntegrityError, match="a saved revision"), writing(engine) as session:
        session.execute(text(statement))


def test_saving_on_an_old_revision_tells_what_was_changed_meanwhile(engine):
    with writing(engine) as session:
        new(session)
        save(session, expected=1, words=("fan added",))
        save(session, expected=2, words=("run lengthened", "comb added"))

    with writing(engine) as session, pytest.raises(ConflictError) as caught:
        save(session, expected=1)

    assert caught.value.latest == 3
    assert caught.value.changes == ("fan added", "run lengthened", "comb added")


def test_a_conflict_saves_nothing(engine):
    with writing(engine) as session:
        new(session)
        save(session, expected=1)
    with pytest.raises(ConflictError), writing(engine) as session:
        save(session, expected=1)

    with reading(engine) as session:
        assert [item.number for item in revisions(session, "b1")] == [1, 2]


@pytest.mark.parametrize("expected", [0, 7])
def test_saving_on_a_revision_that_never_was_is_told(engine, expected):
    with writing(engine) as session:
        new(session)
        with pytest.raises(NotFoundError):
            save(session, expected=expected)


def test_the_history_runs_from_the_oldest(engine):
    with writing(engine) as session:
        new(session)
        save(session, expected=1, name="Tower II")

    with reading(engine) as session:
        assert [(item.number, item.name, item.words) for item in revisions(session, "b1")] == [
            (1, "Tower", ("started",)),
            (2, "Tower II", ("longer run",)),
        ]


def test_the_list_shows_the_latest_saving_first(engine):
    with writing(engine) as session:
        new(session, "old", at="2025-01-01T00:00:00Z")
        new(session, "new", at="2025-03-01T00:00:00Z")
        new(session, "mid", at="2025-02-01T00:00:00Z")

    with reading(engine) as session:
        assert [build.build_id for build in list_builds(session)] == ["new", "mid", "old"]


@pytest.mark.parametrize(
    ("search", "found"),
    [("", {"a", "b"}), ("ÉTÉ", {"a"}), ("white tower", {"b"}), ("100%", {"a"}), ("_", set()), ("sea", set())],
)
def test_a_search_compares_names_in_any_case_and_takes_signs_literally(engine, search, found):
    with writing(engine) as session:
        new(session, "a", name="Été 100%")
        new(session, "b", name="Tower in white")

    with reading(engine) as session:
        assert {build.build_id for build in list_builds(session, search)} == found


def test_a_deleted_build_leaves_the_list(engine):
    with writing(engine) as session:
        new(session)
        delete_build(session, "b1")

        assert list_builds(session) == ()


@pytest.mark.parametrize("look", [latest_revision, revisions, lambda session, b: revision(session, b, 1), delete_build])
def test_a_deleted_build_is_not_found(engine, look):
    with writing(engine) as session:
        new(session)
        delete_build(session, "b1")

        with pytest.raises(NotFoundError):
            look(session, "b1")


def test_a_restored_build_has_all_its_revisions(engine):
    with writing(engine) as session:
        new(session)
        save(session, expected=1)
        before = revisions(session, "b1")
        delete_build(session, "b1")
        assert [build.build_id for build in list_deleted_builds(session)] == ["b1"]

        restore_build(session, "b1")

        assert revisions(session, "b1") == before


def test_only_a_deleted_build_is_restored(engine):
    with writing(engine) as session:
        new(session)
        with pytest.raises(NotFoundError):
            restore_build(session, "b1")


@pytest.mark.parametrize("build_id", ["", "nothing", "B1"])
def test_an_unknown_build_is_not_found(engine, build_id):
    with writing(engine) as session:
        new(session)
        with pytest.raises(NotFoundError):
            latest_revision(session, build_id)


def test_a_revision_that_never_was_is_not_found(engine):
    with writing(engine) as session:
        new(session)
        with pytest.raises(NotFoundError):
            revision(session, "b1", 2)


def test_a_share_leads_to_its_build(engine):
    with writing(engine) as session:
        new(session)
        create_share(session, "b1", "hash-1", "2025-01-01T00:00:00Z")

    with reading(engine) as session:
        assert find_share(session, "hash-1") == "b1"


def test_a_revoked_share_leads_nowhere(engine):
    with writing(engine) as session:
        new(session)
        create_share(session, "b1", "hash-1", "2025-01-01T00:00:00Z")
        create_share(session, "b1", "hash-2", "2025-01-02T00:00:00Z")
        revoke_share(session, "b1", "hash-1")

    with reading(engine) as session:
        assert [share.token_hash for share in list_shares(session, "b1")] == ["hash-2"]
        with pytest.raises(NotFoundError):
            find_share(session, "hash-1")


def test_a_share_of_a_deleted_build_leads_nowhere_until_it_is_restored(engine):
    with writing(engine) as session:
        new(session)
        create_share(session, "b1", "hash-1", "2025-01-01T00:00:00Z")
        delete_build(session, "b1")
        with pytest.raises(NotFoundError):
            find_share(session, "hash-1")

        restore_build(session, "b1")

        assert find_share(session, "hash-1") == "b1"


def test_an_unknown_share_leads_nowhere(engine):
    with reading(engine) as session, pytest.raises(NotFoundError):
        find_share(session, "guess")


def test_a_share_needs_a_build(engine):
    with writing(engine) as session, pytest.raises(NotFoundError):
        create_share(session, "nothing", "hash-1", "2025-01-01T00:00:00Z")


def test_a_share_is_revoked_only_through_its_own_build(engine):
    with writing(engine) as session:
        new(session, "b1")
        new(session, "b2")
        create_share(session, "b1", "hash-1", "2025-01-01T00:00:00Z")
        with pytest.raises(NotFoundError):
            revoke_share(session, "b2", "hash-1")
