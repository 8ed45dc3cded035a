"""What changed, in words. Expected: the sentences a person would want, by their parts; never nothing for a change."""

from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain import edits
from server.domain.model.build import Allowances, Build, Finish, PlugRef, Rates, Route, Run, RunFinish, Spare
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.words import MOST_LINES, changes_in_words
from tests.documents.build_strategies import allowances as any_allowances
from tests.documents.build_strategies import builds as any_builds
from tests.documents.build_strategies import finishes as any_finishes
from tests.documents.build_strategies import run_finishes as any_run_finishes
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


BENT = (RouteStep("leg", length_mm=400), RouteStep("left", angle_deg=90, radius_mm=35))


def card(build: Build, **fields: object) -> Build:
    """The build with its graphics card's run changed."""
    return edits.change_run(build, "r3", **fields)


def allowing(build: Build, **fields: object) -> Build:
    return replace(build, allowances=Allowances(**fields))  # type: ignore[arg-type]


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
    ("likely", lambda b, c: card(b, route=Route(None, 400, 420, 450)), ["run 3", "most likely 420 mm"]),
    ("spacing", lambda b, c: edits.change_run(b, "r4", route=Route(spacing_mm=(95,))), ["run 4", "spacing 95 mm"]),
    ("legs", lambda b, c: card(b, route=Route(steps=BENT)), ["run 3: legs and bends entered", "455 mm"]),
    ("fork", lambda b, c: edits.change_run(b, "r4", branching="fork"), ["run 4 forks"]),
    ("tail", lambda b, c: card(b, ends=(PlugRef("p2", "power1", 0, 40.0),)), ["tails", "part", "40 mm"]),
    ("run ends", lambda b, c: card(b, finish=RunFinish(sleeve_end="melted")), ["run 3", "sleeve ends melted"]),
    ("run shrink", lambda b, c: card(b, finish=RunFinish(shrink_size="")), ["run 3", "the one that fits"]),
    ("run combs", lambda b, c: card(b, finish=RunFinish(comb_kind="open")), ["run 3", "open combs"]),
    ("sleeve ends", lambda b, c: replace(b, finish=Finish(sleeve_end="loose")), ["finish", "sleeve ends left loose"]),
    ("shrink", lambda b, c: replace(b, finish=Finish(shrink_size="middle")), ["finish", "middle heat-shrink"]),
    ("combs", lambda b, c: replace(b, finish=Finish(comb_kind="open")), ["finish", "open combs"]),
    ("extra reach", lambda b, c: edits.change_run(b, "r3", ends=(PlugRef("p2", "power1", 15.0),)), ["run 3", "15 mm"]),
    ("run name", lambda b, c: edits.change_run(b, "r3", name="Card"), ["run 3", "Card"]),
    ("run finish", lambda b, c: edits.change_run(b, "r3", finish=RunFinish(awg=18)), ["run 3", "awg 18"]),
    ("optional", lambda b, c: edits.change_run(b, "r4", optional=("5",)), ["run 4", "5"]),
    ("finish", lambda b, c: replace(b, finish=Finish(insulation="clear")), ["finish", "clear"]),
    ("reserve", lambda b, c: allowing(b, recrimp_mm=12.5), ["re-crimp reserve", "12.5 mm"]),
    ("slack", lambda b, c: allowing(b, slack_mm=15), ["service slack 15 mm"]),
    ("step", lambda b, c: allowing(b, step_mm=1), ["cutting step 1 mm"]),
    ("fray", lambda b, c: allowing(b, fray_mm=0), ["frays 0 mm"]),
    ("loss", lambda b, c: allowing(b, cut_loss_mm=2), ["loss at each cut 2 mm"]),
    ("remnant", lambda b, c: allowing(b, remnant_least_mm=150), ["least useful remnant 150 mm"]),
    ("depth", lambda b, c: allowing(b, depth_mm={"p42": 12.5}), ["insertion depth", "4.2 mm two-row power", "12.5 mm"]),
    ("strip", lambda b, c: allowing(b, strip_mm={"p30-pin": 3}), ["strip length", "pin", "3 mm"]),
    ("family", lambda b, c: allowing(b, recrimp_by_family={"p42": 4}), ["reserve", "4.2 mm two-row power", "4 mm"]),
    ("skill", lambda b, c: allowing(b, skill="first_cables"), ["spares for first cables"]),
    ("spares", lambda b, c: allowing(b, spares={"contacts": Spare(25, 6)}), ["spares: contacts 25 %, at least 6"]),
    ("spare combs", lambda b, c: allowing(b, spares={"combs": Spare(0, 3)}), ["spares: combs 3 on each run"]),
    ("rate", lambda b, c: replace(b, rates=Rates(hourly=Decimal(55))), ["hourly", "55"]),
    ("price", lambda b, c: replace(b, prices={"sleeve-small-5000": Decimal(3)}), ["prices"]),
    ("counter alone", lambda b, c: replace(b, next_number=77), []),
]  # fmt: skip


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


ROUTES = [
    # By hand: 400 + 35 x pi / 2 = 454.98 mm.
    (Route(), Route(steps=BENT), "legs and bends entered, measured at 455 mm by 1 leg and 1 bend"),
    (Route(steps=BENT[:1]), Route(steps=BENT), "legs and bends changed, measured at 455 mm by 1 leg and 1 bend"),
    (Route(steps=BENT), Route(length_mm=640), "legs and bends taken out, measured at 640 mm"),
    (Route(steps=BENT), Route(), "legs and bends taken out, not measured"),
    (Route(length_mm=640), Route(), "measured length taken out, not measured"),
    (Route(low_mm=600, likely_mm=620, high_mm=650), Route(length_mm=640), "measured at 640 mm; no range"),
    (Route(None, 600, None, 650), Route(640, 600, None, 650), "measured at 640 mm"),
    (Route(), Route(None, 600, 620, 650), "expected 600 to 650 mm, most likely 620 mm"),
]


@pytest.mark.parametrize(("before", "after", "words"), ROUTES)
def test_a_changed_route_is_told_in_one_line(catalogue: Catalogue, before: Route, after: Route, words: str) -> None:
    first, second = (Build("x", runs=(Run("r1", 1, (), (PlugRef("p1", "main"),), route=r),)) for r in (before, after))
    assert changes_in_words(first, second, catalogue) == (f"run 1: {words}",)


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (
            Allowances({"p42": 12.0}),
            Allowances(),
            "allowances: insertion depth of 4.2 mm two-row power is as the catalogue",
        ),
        (
            Allowances(recrimp_by_family={"p42": 2.0}),
            Allowances(),
            "allowances: re-crimp reserve of 4.2 mm two-row power is as for every family",
        ),
        (Allowances(spares={"shrink": Spare(5, 1)}), Allowances(), "spares: shrink by skill"),
    ],
)
def test_an_allowance_taken_back_is_told_with_what_holds_instead(
    catalogue: Catalogue, before: Allowances, after: Allowances, words: str
) -> None:
    assert changes_in_words(Build("x", allowances=before), Build("x", allowances=after), catalogue) == (words,)


@examples(60)
@given(st.data())
def test_every_field_of_allowances_and_finishes_that_changes_is_told(data: st.DataObject) -> None:
    # Property: no field of what was decided changes in silence.
    kind, drawn, wrap = data.draw(st.sampled_from(DECIDED))
    before, other = data.draw(drawn), data.draw(drawn)
    name = data.draw(st.sampled_from([f.name for f in fields(kind)]))
    after = replace(before, **{name: getattr(other, name)})
    assert (after == before) != bool(changes_in_words(wrap(before), wrap(after), shipped_catalogue()))


DECIDED = [
    (Allowances, any_allowances, lambda value: Build("x", allowances=value)),
    (Finish, any_finishes, lambda value: Build("x", finish=value)),
    (RunFinish, any_run_finishes, lambda v: Build("x", runs=(Run("r1", 1, (), (PlugRef("p1", "main"),), finish=v),))),
]
