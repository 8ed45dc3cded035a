"""The order that changes tools least often. Expected values: every order tried, properties, and by hand."""

import json
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from server.domain.work_order import WorkOrder, WorkTask, order_of_work, tool_changes
from tests.domain.brute_work import Line, changes_in, every_order, fewest_changes
from tests.domain.scenes import examples

ROOT = Path(__file__).parents[2]


@st.composite
def jobs(draw: st.DrawFn, most: int = 8, tools: str = "ABC") -> list[Line]:
    """A few tasks with up to three tools and some work by hand, given in any order."""
    count = draw(st.integers(0, most))
    kinds = st.sampled_from([*tools, *tools, ""])
    lines: list[Line] = []
    for i in range(count):
        # Few links, else there is only one order; and more of them to what stands just before.
        waits = draw(st.sets(st.integers(max(0, i - 3), i - 1), max_size=2)) if i else set()
        lines.append((str(i), draw(kinds), tuple(str(j) for j in sorted(waits))))
    return draw(st.permutations(lines))


def ordered(lines: list[Line], **limits: int) -> WorkOrder:
    return order_of_work([WorkTask(*line) for line in lines], **limits)


def tangle(seed: int, count: int = 60) -> list[Line]:
    """Lines of four tasks, whose tools wait for each other in many rings; each of the eight is there."""
    rng = Random(seed)
    tools = [*"ABCDEFGH", *rng.choices("ABCDEFGH", k=4 * count - 8)]
    return [(f"{n}/{i}", tools[4 * n + i], (f"{n}/{i - 1}",) if i else ()) for n in range(count) for i in range(4)]


# ---- against every order ---------------------------------------------------------------------------------------------


@examples(120)
@given(jobs())
def test_no_order_changes_the_tool_less_often(lines: list[Line]) -> None:
    found = ordered(lines)
    event(f"{found.changes} changes")
    assert (found.changes, found.at_least, found.proved) == (fewest_changes(lines),) * 2 + (True,)


@examples(80)
@given(jobs(most=7, tools="AB"))
def test_the_bound_holds_where_the_search_may_look_at_nothing(lines: list[Line]) -> None:
    found = ordered(lines, looks=0)
    assert found.at_least <= fewest_changes(lines) <= found.changes
    assert found.proved == (found.at_least == found.changes)


@pytest.mark.parametrize("seed", range(40))
def test_lines_that_tangle_are_ordered_as_well_as_every_row_of_tools_tried(seed: int) -> None:
    # Four tools, five lines of three tasks: every row of tools, shortest first, until one serves all lines.
    rng = Random(seed)
    words = [rng.sample("ABCD", 3) for _ in range(5)]
    rows = [""]
    while not any(all(_is_within(word, row) for word in words) for row in rows):
        rows = [row + tool for row in rows for tool in "ABCD" if not row.endswith(tool)]
    lines = [
        (f"{n}/{i}", tool, (f"{n}/{i - 1}",) if i else ()) for n, w in enumerate(words) for i, tool in enumerate(w)
    ]
    found = ordered(lines)
    assert (found.changes, found.proved) == (len(rows[0]) - 1, True)


def _is_within(word: list[str], row: str) -> bool:
    rest = iter(row)
    return all(tool in rest for tool in word)


# ---- properties ------------------------------------------------------------------------------------------------------


@examples(150)
@given(jobs(most=14, tools="ABCD"))
def test_every_task_is_there_once_and_behind_those_it_waits_for(lines: list[Line]) -> None:
    found = ordered(lines)
    place = {task: n for n, task in enumerate(found.ids)}
    assert sorted(found.ids) == sorted(line[0] for line in lines)
    assert all(place[other] < place[task] for task, _, after in lines for other in after)
    by_id = {line[0]: line for line in lines}
    assert found.changes == changes_in([by_id[task] for task in found.ids])


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("looks", [0, 3000, 40_000])
def test_beyond_the_end_of_the_search_the_order_is_sound_and_the_bound_is_told(seed: int, looks: int) -> None:
    lines = tangle(seed)
    found = ordered(lines, looks=looks)
    by_id = {line[0]: line for line in lines}
    assert found.changes == changes_in([by_id[task] for task in found.ids])
    assert 8 <= found.at_least + 1 <= found.changes + 1
    assert found.proved == (found.at_least == found.changes)
    assert found.changes <= changes_in(lines)


def test_a_longer_search_tells_no_lower_bound() -> None:
    bounds = [ordered(tangle(3), looks=looks).at_least for looks in (0, 2000, 20_000, 100_000)]
    assert bounds == sorted(bounds)


@examples(100)
@given(jobs(most=12, tools="ABCD"))
def test_the_order_given_is_never_better(lines: list[Line]) -> None:
    given_order = sorted(lines, key=lambda line: int(line[0]))
    assert ordered(given_order, looks=0).changes <= changes_in(given_order)


@examples(60)
@given(jobs(most=12))
def test_the_same_tasks_are_answered_alike(lines: list[Line]) -> None:
    assert ordered(lines) == ordered(lines)


def test_another_process_with_other_hashes_answers_alike() -> None:
    # The other process is told the tasks as text: it loads nothing but what it is asked for.
    asked = (
        "import json, sys\n"
        "from server.domain.work_order import WorkTask, order_of_work\n"
        "for lines in json.load(sys.stdin):\n"
        "    print(*order_of_work([WorkTask(*line) for line in lines], looks=3000).ids)"
    )
    tangles = [tangle(seed) for seed in range(3)]
    answers = [
        subprocess.run(
            [sys.executable, "-c", asked],
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed},
            input=json.dumps(tangles),
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert answers[0] == answers[1] == "".join(f"{' '.join(ordered(lines, looks=3000).ids)}\n" for lines in tangles)


# ---- by hand ---------------------------------------------------------------------------------------------------------


def cable(wires: list[tuple[str, str, str, str]]) -> list[Line]:
    """Wires by reel, die at the part, sleeve, die at the source; then the fit by hand."""
    lines: list[Line] = []
    for n, tools in enumerate(wires, 1):
        stages = ("cut", "part", "sleeve", "source", "fit")
        for i, (stage, tool) in enumerate(zip(stages, (*tools, ""), strict=True)):
            lines.append((f"{stage}/{n}", tool, (f"{stages[i - 1]}/{n}",) if i else ()))
    return lines


def test_two_wires_by_hand() -> None:
    # Wire 1: reel R, die P, sleeve S, die Q. Wire 2: reel R, die Q, sleeve S, die P. Run by run it is R P S Q R Q S P:
    # seven changes. R is needed once. P stands before Q on one wire and behind it on the other, so one of them is
    # needed twice. In P Q P one S would have to lie between the first P and Q and between Q and the second P, so it
    # takes two; the same in Q P Q. With one S both dies are needed on either side of it. So five set-ups and R: five
    # changes.
    lines = cable([("R", "P", "S", "Q"), ("R", "Q", "S", "P")])
    assert tool_changes(tool for _, tool, _ in lines) == 7
    found = ordered(lines)
    assert (found.changes, found.at_least, found.proved) == (5, 5, True)


def test_one_die_for_both_ends_stays_set_up_where_the_wire_is_sleeved_by_hand() -> None:
    # Crimp, sleeve by hand, crimp with the same die: reel, die, no change between the two ends.
    found = ordered(cable([("R", "P", "", "P"), ("R", "P", "", "P")]))
    assert (found.changes, found.proved) == (1, True)
    # All that the tool can do in a go; then the first that the hands can do, after which the tool goes on.
    assert found.ids == (
        *("cut/1", "cut/2", "part/1", "part/2"),
        *("sleeve/1", "source/1", "fit/1", "sleeve/2", "source/2", "fit/2"),
    )


def test_work_by_hand_alone_changes_nothing() -> None:
    found = ordered([("b", "", ("a",)), ("a", "", ()), ("c", "", ())])
    assert found == WorkOrder(("a", "b", "c"), 0, 0, True)
    assert ordered([]) == WorkOrder((), 0, 0, True)


def test_the_first_tool_is_no_change_and_hands_between_are_none() -> None:
    assert [tool_changes(tools) for tools in ([], ["A"], ["A", "", "A"], ["A", "", "B"], ["", "A", "B", "A"])] == [
        *(0, 0, 0, 1, 2)
    ]


def test_what_one_tool_does_keeps_the_given_order() -> None:
    lines = [("d", "A", ()), ("x", "B", ()), ("b", "A", ("c",)), ("c", "A", ()), ("y", "B", ()), ("a", "A", ())]
    assert ordered(lines).ids == ("d", "c", "b", "a", "x", "y")


def test_two_tools_that_wait_for_each_other_need_a_third_setting_up() -> None:
    # A before B on one wire, B before A on another: A B A or B A B. That given first is taken first.
    lines = [("1", "A", ()), ("2", "B", ("1",)), ("3", "B", ()), ("4", "A", ("3",))]
    assert ordered(lines) == WorkOrder(("1", "2", "3", "4"), 2, 2, True)


def test_many_tasks_without_any_form_are_answered_with_a_bound() -> None:
    # 1,500 tasks, each behind any two earlier ones: far too tangled to prove. Every tool is set up at least once.
    rng = Random(1)
    lines = [
        (str(i), str(rng.randrange(30)), tuple({str(rng.randrange(i)) for _ in "ab"} if i else ())) for i in range(1500)
    ]
    found = ordered(lines)
    assert 29 <= found.at_least < found.changes <= changes_in(lines)


# ---- what is refused -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([("a", "A", ()), ("b", "", ()), ("a", "B", ())], "the task a is there twice"),
        ([("a", "A", ("z",))], "the task a waits for z, which is not there"),
        ([("a", "A", ("b",)), ("b", "B", ("a",)), ("c", "A", ())], "in a ring"),
        ([("a", "A", ("a",))], "in a ring"),
    ],
)
def test_tasks_that_cannot_be_put_in_order_are_refused(lines: list[Line], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        ordered(lines)


def test_every_order_of_the_brute_force_is_tried() -> None:
    # By hand: a before b, c free: c may stand in three places.
    assert len(list(every_order([("a", "A", ()), ("b", "B", ("a",)), ("c", "A", ())]))) == 3
