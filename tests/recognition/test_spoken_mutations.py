"""100 of the 500 mutations from audio: the mistake, or what is said in its place, is spoken and recognised; the other
calls of its session are not what is tested, and are heard without doubt.

Sample and voices were chosen before any result was seen. What could not be made out is said again, slower, twice at
most; what stays unclear is left out of the score, is counted here, printed (`pytest -s`), and bounded. A verdict that
is neither the right one nor 'unclear' is a wrong grade: there must be none. A wrong value may be heard as another wrong
value: the verdict is right then, and its reason names a value that was not said; that is counted too.

When this was written: 2 unclear, no verdict wrong, 1 misquoted (2,910 ft as 210 ft).
"""

from __future__ import annotations

import random
from itertools import cycle

import pytest
from spoken_rows import Ears, prepare

from tests.mutations import Mutation, drill_named, graded, mutations, performed

pytestmark = pytest.mark.slow

VOICES = ("gmw/en-us", "gmw/en-us+f3", "gmw/en-us+m3", "gmw/en-us+f4", "gmw/en-gb-x-rp")
SAMPLE = 100
MOST_UNCLEAR = 8
MOST_MISQUOTED = 2


def sample() -> list[tuple[Mutation, str]]:
    chosen = random.Random(4).sample(mutations(500, seed=20), SAMPLE)
    return list(zip(chosen, cycle(VOICES)))


def test_each_mistake_gets_its_verdict_and_reason_or_is_unclear() -> None:
    wrong: list[str] = []
    unclear: list[str] = []
    misquoted: list[str] = []
    chosen = sample()
    for name in sorted({mutation.drill for mutation, _ in chosen}):
        prepare(drill_named(name))
        for mutation, voice in (each for each in chosen if each[0].drill == name):
            verdicts = graded(performed(mutation, Ears(voice)))
            expected = dict.fromkeys(verdicts, "correct") | dict(mutation.verdicts)
            spoken = mutation.lines[mutation.mistake]
            told = {key: v.verdict for key, v in verdicts.items()}
            if told[spoken.step, spoken.call] == "unclear":
                unclear.append(f"{voice}: {mutation.named}")
                expected[spoken.step, spoken.call] = "unclear"
            if told != expected:
                differ = {key: (told[key], expected[key]) for key in told if told[key] != expected[key]}
                wrong.append(f"{voice}: {mutation.named}: {differ}")
            misquoted += [
                f"{voice}: {mutation.named}: {verdicts[key].reason}"
                for key, verdict in mutation.verdicts
                if told[key] == verdict and mutation.reason not in verdicts[key].reason
            ]
    print(f"\nof {SAMPLE}: {len(unclear)} unclear, {len(wrong)} wrong, {len(misquoted)} misquoted")
    print("\n".join(["unclear:", *unclear, "wrong:", *wrong, "misquoted:", *misquoted]))
    assert wrong == []
    assert len(misquoted) <= MOST_MISQUOTED
    assert len(unclear) <= MOST_UNCLEAR
