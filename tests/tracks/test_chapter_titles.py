"""Whatever a drill is called, its chapters have names that a player can show."""

from __future__ import annotations

from hypothesis import example, given
from hypothesis import strategies as st

from voice_trainer.tracks.titles import chapter_title

HOSTILE = (
    "<script>alert(1)</script>",
    "\u202eright to left\u202c",
    "../../etc/passwd\x00",
    "x" * 10_000,
    "\U0001f6e9\ufe0f" * 400,
    "one\ntwo\r\n\tthree\x1b[31m",
    "   ",
)
STEP = "s" * 61


@given(st.text(max_size=500))
@example(HOSTILE[0])
@example(HOSTILE[1])
@example(HOSTILE[2])
@example(HOSTILE[3])
@example(HOSTILE[4])
@example(HOSTILE[5])
@example(HOSTILE[6])
def test_a_title_is_one_short_line_without_markup_paths_or_what_cannot_be_seen(title: str) -> None:
    made = chapter_title(title, STEP)
    assert made.isprintable()
    assert not set("<>/\\") & set(made)
    assert made.endswith(f": {STEP}")
    assert len(made) <= 60 + 2 + len(STEP)
    assert len(made.encode()) < 255  # ISO base media: the length of a name in 'chpl' is one byte
    assert made == made.strip()


def test_an_ordinary_title_stays_as_it_is() -> None:
    assert chapter_title("Six Ts, the 'house' way & more", "one minute") == (
        "Six Ts, the 'house' way & more: one minute"
    )
