"""What changed, in words. Expected: the sentences a person would want, by their parts; never nothing for a change."""

from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain import edits
from server.domain.model.build import Allowances, Build, Finish, PlugRef, Rates, Route, RunFinish
from server.domain.model.catalogue import Catalogue
from server.domain.words import MOST_LINES, changes_in_words
from tests.documents.build_strategies import builds as any_builds
from tests.domain.scenes import built, examples, shipped_catalogue


@pytest.fixture
def build(catalogue: Catalogue) -> Build:
    return built(catalogue, "one-24", [("board-small", 1), ("graphics-8", 1), ("drive-sata", 2)])


def test_nothing_changed_needs_no_words(build: Build, catalogue: Catalogue) -> None:
    assert changes_in_words(build, replace(build), catalogue) == ()


@examples(100)
@given(any_builds(), any_builds())
def test_two_builds_that_differ_are_never_without_words(before: Build, after: Build) -> None:
    words = changes_in_words(before, after, shipped_catalogue())
    assert (before == after) != bool(words)
    assert all(line.strip() for line in words)


@examples(60)
@given(any_builds(), st.data())
def test_every_single_field_of_a_build_that_changes_is_told(build: Build, data: st.DataObject) -> None:
    other = data.draw(any_builds())
    name = data.draw(st.sampled_from([f.name for f in fields(Build)]))
    after = replace(build, **{name: getattr(other, name)})
    assert (after == build) != bool(changes_in_words(build, after, shipped_catalogue()))


CHANGES = [
    ("name", lambda b, c: replace(b, name="Other"), ["Test", "Other"]),
    ("client", lambda b, c: replace(b, client="Someone"), ["client"]),
    ("notes", lambda b, c: replace(b, notes="Much"), ["notes"]),
    ("supply", lambda b, c: replace(b, supply="split-14-10"), ["Main split 14 + 10"]),
    ("supply taken away", lambda b, c: replace(b, supply=""), ["supply", "none"]),
    ("part added", lambda b, c: edits.add_parts(b, c, "fan-4", 1, "Rear fan"), ["added", "Rear fan"]),
    ("part removed", lambda b, c: edits.remove_part(b, "p2"), ["removed", "Graphics card, one 8"]),
    ("part renamed", lambda b, c: edits.rename_part(b, "p2", "Big card"), ["Graphics card, one 8", "Big card"]),
    ("run removed", lambda b, c: edits.remove_run(b, "r3"), ["removed run 3"]),
    ("run moved", lambda b, c: edits.move_run(b, c, "r3", (("supply", "G3"),)), ["run 3", "Graphics 3"]),
    ("route", lambda b, c: edits.change_run(b, "r3", route=Route(length_mm=420)), ["run 3", "420 mm"]),
    ("range", lambda b, c: edits.change_run(b, "r3", route=Route(low_mm=400, high_mm=450)), ["run 3", "400 to 450 mm"]),
    ("extra reach", lambda b, c: edits.change_run(b, "r3", ends=(PlugRef("p2", "power1", 15.0),)), ["run 3", "15 mm"]),
    ("run name", lambda b, c: edits.change_run(b, "r3", name="Card"), ["run 3", "Card"]),
    ("run finish", lambda b, c: edits.change_run(b, "r3", finish=RunFinish(awg=18)), ["run 3", "awg 18"]),
    ("optional", lambda b, c: edits.change_run(b, "r4", optional=("5",)), ["run 4", "5"]),
    ("finish", lambda b, c: replace(b, finish=Finish(insulation="clear")), ["finish", "clear"]),
    ("allowance", lambda b, c: replace(b, allowances=Allowances(per_wire_mm=12.5)), ["per wire", "12.5"]),
    ("rate", lambda b, c: replace(b, rates=Rates(hourly=Decimal(55))), ["hourly", "55"]),
    ("price", lambda b, c: replace(b, prices={"sleeve-small-5000": Decimal(3)}), ["prices"]),
    ("counter alone", lambda b, c: replace(b, next_number=77), []),
]


@pytest.mark.parametrize(("change", "wanted"), [pytest.param(c, w, id=name) for name, c, w in CHANGES])
def test_a_change_is_told_by_what_it_changed(build: Build, catalogue: Catalogue, change, wanted: list[str]) -> None:  # type: ignore[no-untyped-def]
    told = " / ".join(changes_in_words(build, change(build, catalogue), catalogue))
    assert told
    assert [word for word in wanted if word not in told] == []


def test_very_many_changes_are_cut_short_and_counted(build: Build, catalogue: Catalogue) -> None:
    # By hand: 60 parts renamed; 40 lines are told and 20 more counted.
    many = built(catalogue, "one-24", [("fan-4", 60)])
    renamed = replace(many, parts=tuple(replace(p, name=f"{p.name} new") for p in many.parts))
    words = changes_in_words(many, renamed, catalogue)
    assert (len(words), words[-1]) == (MOST_LINES + 1, "and 20 more changes")
