"""The cache of rendered clips: what is found, what is rendered again, and what happens on a bad disk."""

import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.effects import radio
from voice_trainer.voices.cache import CachedVoice, render_all
from voice_trainer.voices.casting import ROLES, Casting
from voice_trainer.voices.errors import VoiceError
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice
from voice_trainer.voices.scripted import ScriptedVoice

STYLE = VoiceStyle("one")


def entries(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_text_is_rendered_once_also_for_another_process(tmp_path):
    first, second = ScriptedVoice(), ScriptedVoice()
    samples = CachedVoice(first, tmp_path).render("gear down", STYLE)
    again = CachedVoice(second, tmp_path).render("gear down", STYLE)
    assert np.array_equal(samples, again) and samples.dtype == again.dtype
    assert len(first.spoken) == 1 and second.spoken == []


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("gear up", STYLE),
        ("gear down ", STYLE),
        ("gear down", VoiceStyle("two")),
        ("gear down", VoiceStyle("one", 166)),
        ("gear down", VoiceStyle("one", radio=True)),
    ],
)
def test_any_difference_is_another_clip(tmp_path, text, style):
    engine = ScriptedVoice()
    voice = CachedVoice(engine, tmp_path)
    voice.render("gear down", STYLE)
    voice.render(text, style)
    assert engine.spoken == [("gear down", STYLE), (text, style)]
    assert len(entries(tmp_path)) == 2


def test_another_version_of_the_engine_finds_nothing(tmp_path):
    class NewerVoice(ScriptedVoice):
        name = "scripted 2"

    CachedVoice(ScriptedVoice(), tmp_path).render("gear down", STYLE)
    newer = NewerVoice()
    CachedVoice(newer, tmp_path).render("gear down", STYLE)
    assert len(newer.spoken) == 1


@given(damage=st.one_of(st.integers(0, 200), st.binary(max_size=100)))
def test_a_damaged_entry_is_rendered_again_and_mended(tmp_path_factory, damage):
    folder = tmp_path_factory.mktemp("cache")
    voice = CachedVoice(ScriptedVoice(), folder)
    samples = voice.render("gear down", STYLE)
    (entry,) = entries(folder)
    whole = entry.read_bytes()
    entry.write_bytes(whole[:damage] if isinstance(damage, int) else damage)
    engine = ScriptedVoice()
    assert np.array_equal(CachedVoice(engine, folder).render("gear down", STYLE), samples)
    assert len(engine.spoken) == 1 and entry.read_bytes() == whole


def test_a_folder_that_cannot_be_written_costs_nothing_but_a_note(tmp_path):
    (tmp_path / "file").write_text("in the way")
    engine = ScriptedVoice()
    voice = CachedVoice(engine, tmp_path / "file" / "cache")
    samples = voice.render("gear down", STYLE)
    voice.render("gear up", STYLE)
    assert np.array_equal(voice.render("gear down", STYLE), samples)
    assert len(engine.spoken) == 2
    assert len(voice.notes) == 1 and str(tmp_path / "file" / "cache") in voice.notes[0]


def test_no_half_written_file_stays_behind_and_none_is_ever_seen(tmp_path):
    voice = CachedVoice(ScriptedVoice(), tmp_path)
    threads = [threading.Thread(target=voice.render, args=("flaps ten", STYLE)) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (entry,) = entries(tmp_path)
    assert entry.suffix == ".wav" and voice.notes == []


def test_rendering_ahead_renders_each_text_once(tmp_path):
    engine = ScriptedVoice()
    voice = CachedVoice(engine, tmp_path)
    texts = [(f"passing {n}", STYLE) for n in ("one", "two", "three", "one", "two")]
    assert render_all(voice, texts, workers=2) == 3
    assert sorted(text for text, _ in engine.spoken) == ["passing one", "passing three", "passing two"]
    voice.render("passing two", STYLE)
    assert len(engine.spoken) == 3


def test_rendering_ahead_reports_what_could_not_be_spoken(tmp_path):
    voice = CachedVoice(ScriptedVoice(), tmp_path)
    with pytest.raises(VoiceError, match="nobody"):
        render_all(voice, [("gear down", STYLE), ("gear up", VoiceStyle("nobody"))])


def test_the_real_engine_is_not_started_for_what_is_there(tmp_path, monkeypatch):
    engine = Pyttsx3Voice()
    style = VoiceStyle("gmw/en-us")
    samples = CachedVoice(engine, tmp_path / "cache").render("Heron two four.", style)
    for name in ("libespeak-ng.so.1", "libespeak.so.1"):
        (tmp_path / name).write_bytes(b"no library")
    monkeypatch.setenv("LD_LIBRARY_PATH", str(tmp_path))
    with pytest.raises(VoiceError):
        engine.render("Heron two four.", style)
    assert (
        CachedVoice(engine, tmp_path / "cache").render("Heron two four.", style).tobytes()
        == samples.tobytes()
    )


def test_the_radio_is_put_on_radio_styles_only_and_both_share_one_entry(tmp_path):
    engine = ScriptedVoice()
    voice = RadioVoice(CachedVoice(engine, tmp_path), radio)
    plain = voice.render("cleared approach", STYLE)
    over_radio = voice.render("cleared approach", VoiceStyle("one", radio=True))
    assert np.array_equal(over_radio, radio(plain)) and len(over_radio) == len(plain)
    assert len(engine.spoken) == 1 and len(entries(tmp_path)) == 1
    assert voice.name == engine.name and voice.voices() == engine.voices()


@given(
    words=st.lists(st.text("abcdefgh", min_size=1, max_size=8), min_size=1, max_size=20),
    rate=st.integers(80, 400),
)
def test_the_scripted_voice_takes_as_long_as_its_words(words, rate):
    samples = ScriptedVoice().render(" ".join(words), VoiceStyle("two", rate))
    assert abs(len(samples) / 16_000 - len(words) * 60 / rate) < 0.001 * len(words)
    assert np.array_equal(samples, ScriptedVoice().render(" ".join(words), VoiceStyle("two", rate)))


def test_every_role_has_a_voice_of_its_own_and_only_the_controller_a_radio():
    for voice in (ScriptedVoice(), Pyttsx3Voice()):
        casting = Casting.of(voice)
        styles = [casting.style(role) for role in ROLES]
        assert len({style.voice for style in styles}) == len(ROLES)
        assert [role for role in ROLES if casting.style(role).radio] == ["controller"]
        for style in styles:
            assert len(voice.render("Gear down.", style)) > 0


def test_a_role_can_be_given_another_voice_but_not_one_that_is_not_there():
    voice = ScriptedVoice()
    assert Casting.of(voice, {"instructor": "four"}).style("instructor").voice == "four"
    with pytest.raises(VoiceError, match=r"no voice 'five' for the student: choose from one"):
        Casting.of(voice, {"student": "five"})


def test_an_entry_is_private_to_its_owner(tmp_path):
    """What a student's own drills say is nobody else's business."""
    CachedVoice(ScriptedVoice(), tmp_path).render("gear down", STYLE)
    (entry,) = entries(tmp_path)
    assert entry.stat().st_mode & 0o077 == 0
