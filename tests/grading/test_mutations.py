"""500 right performances with one mistake each, from text: each gets the right verdict and its reason."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.mutations import KINDS, Mutation, graded, mutations, performed

MUTATIONS = mutations(500, seed=20)


def test_there_are_500_of_every_kind() -> None:
    kinds = Counter(mutation.kind for mutation in MUTATIONS)
    assert len(MUTATIONS) == 500
    assert set(kinds) == set(KINDS)
    assert len({mutation.drill for mutation in MUTATIONS}) > 1


@pytest.mark.parametrize("kind", KINDS)
def test_each_gets_the_right_verdict_and_reason(kind: str) -> None:
    for mutation in MUTATIONS:
        if mutation.kind == kind:
            check(mutation)


def check(mutation: Mutation) -> None:
    verdicts = graded(performed(mutation))
    expected = dict.fromkeys(verdicts, "correct") | dict(mutation.verdicts)
    assert {key: v.verdict for key, v in verdicts.items()} == expected, mutation.named
    for key, _ in mutation.verdicts:
        assert mutation.reason in verdicts[key].reason, mutation.named
