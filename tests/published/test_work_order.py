"""The order of work on published shortest common supersequences: the letters are tools, each word is a line of tasks.

A row of tools that serves all lines is a common supersequence of the words, so its changes are one less than the
published length. Where a word has the same letter twice in a row, which one set-up would serve, every letter is written
as two: a supersequence of such words holds one of the plain words in its first letters and one in its second letters,
so it is exactly twice as long.
"""

from collections.abc import Sequence
from itertools import permutations

import pytest

from server.domain.work_order import WorkOrder, WorkTask, order_of_work

PLENTY = 2_000_000


def ordered(words: Sequence[Sequence[str]]) -> WorkOrder:
    tasks = [
        WorkTask(f"{n}/{i}", tool, (f"{n}/{i - 1}",) if i else ())
        for n, word in enumerate(words)
        for i, tool in enumerate(word)
    ]
    return order_of_work(tasks, looks=PLENTY)


def twofold(word: str) -> list[str]:
    return [letter + half for letter in word for half in "12"]


SUPERSEQUENCES = [
    # Encyclopaedia article "Shortest common supersequence": abdcabdab.
    ("abcbdab", "bdcaba", 9),
    # Rosalind, glossary entry "Shortest common supersequence": ACGTATC.
    ("ACGTC", "ATAT", 7),
    # Rosalind, problem SCSP, sample: ATGCATGAT.
    ("ATCTGAT", "TGCATA", 9),
    # Jutge, problem X40399, first sample.
    ("forward", "backward", 11),
]


@pytest.mark.parametrize(("one", "other", "length"), SUPERSEQUENCES)
def test_the_published_supersequence_is_no_longer_than_the_row_of_tools(one: str, other: str, length: int) -> None:
    found = ordered([one, other])
    assert (found.changes + 1, found.proved) == (length, True)


SUBSEQUENCES = [
    # Cormen, Leiserson, Rivest and Stein, "Introduction to Algorithms", dynamic programming, longest common
    # subsequence: the worked figure, BCBA; the strands of the introduction, GTCGTCGGAAGCCGGCCGAA; the exercise, six
    # digits.
    ("ABCBDAB", "BDCABA", 4),
    ("ACCGGTCGAGTGCGCGGAAGCCGGCCGAA", "GTCGTTCGGAATGCCGTTGCTCTGTAAA", 20),
    ("10010101", "010110110", 6),
    # Jutge, problem X40399: AGGXTXAYB, nine letters, so 6 + 7 - 9.
    ("AGGTAB", "GXTXAYB", 4),
]


@pytest.mark.parametrize(("one", "other", "common"), SUBSEQUENCES)
def test_two_words_take_both_lengths_less_the_published_common_subsequence(one: str, other: str, common: int) -> None:
    # The textbook identity for two words: SCS = n + m - LCS.
    found = ordered([twofold(one), twofold(other)])
    assert (found.changes + 1, found.proved) == (2 * (len(one) + len(other) - common), True)


@pytest.mark.parametrize(("letters", "length"), [(1, 1), (2, 3), (3, 7), (4, 12)])
def test_all_orders_of_a_few_tools_take_the_published_row(letters: int, length: int) -> None:
    # Encyclopedia of integer sequences, A062714 (Newey, 1973): the shortest word that holds every permutation.
    found = ordered([*permutations("ABCD"[:letters])])
    assert (found.changes + 1, found.proved) == (length, True)


def test_all_orders_of_five_tools_lie_between_the_bound_and_the_order_found() -> None:
    # A062714: 19. More than the search may look at here, so bound and order must lie on either side of it.
    words = [*permutations("ABCDE")]
    tasks = [
        WorkTask(f"{n}/{i}", t, (f"{n}/{i - 1}",) if i else ()) for n, w in enumerate(words) for i, t in enumerate(w)
    ]
    found = order_of_work(tasks)
    assert found.at_least + 1 <= 19 <= found.changes + 1
    assert not found.proved
