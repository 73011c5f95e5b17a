"""Speech by the real engine: pyttsx3 with espeak-ng."""

import json
import subprocess
import sys
import wave
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from voice_trainer.voices.errors import VoiceError
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

SENTENCE = "Heron two four, turn left heading two eight four, descend and maintain three thousand."
STYLE = VoiceStyle("gmw/en-us")


@pytest.fixture(scope="module")
def voice() -> Pyttsx3Voice:
    return Pyttsx3Voice()


def test_a_sentence_takes_about_as_long_as_its_words_and_has_no_silence_around_it(voice):
    samples = voice.render(SENTENCE, STYLE)
    assert samples.dtype == np.int16 and samples.ndim == 1
    words = len(SENTENCE.split())
    # 165 words a minute of running text; numbers are short words, and two commas are two pauses.
    assert words / 165 * 60 * 0.6 < len(samples) / 16_000 < words / 165 * 60 * 1.6
    loud = np.flatnonzero(np.abs(samples.astype(int)) > 300)
    assert loud[0] < 0.06 * 16_000 and len(samples) - loud[-1] < 0.06 * 16_000
    assert np.abs(samples.astype(int)).max() > 5000


def test_the_same_request_gives_the_same_samples_and_threads_do_not_disturb_each_other(voice):
    texts = [SENTENCE, "Gear down.", "Mintbrook Tower, Heron two four."] * 2
    alone = [voice.render(text, STYLE) for text in texts[:3]]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda text: voice.render(text, STYLE), texts))
    assert all(np.array_equal(samples, alone[i % 3]) for i, samples in enumerate(together))


def test_many_at_once_are_all_spoken_in_the_voice_and_at_the_rate_asked_for(voice):
    """One in a hundred was spoken with espeak-ng's own voice and rate while the child used runAndWait."""
    style = VoiceStyle("gmw/en-us+f3", words_per_minute=120)
    with ThreadPoolExecutor(4) as pool:
        clips = list(pool.map(lambda _: voice.render("Gear down.", style).tobytes(), range(100)))
    assert len(set(clips)) == 1


def test_faster_is_shorter(voice):
    slow = voice.render(SENTENCE, VoiceStyle("gmw/en-us", words_per_minute=120))
    fast = voice.render(SENTENCE, VoiceStyle("gmw/en-us", words_per_minute=240))
    assert len(fast) < len(slow) * 0.65


def test_voices_and_variants_differ_and_the_radio_is_not_the_engines_business(voice):
    renderings = {
        name: voice.render("Descend and maintain three thousand.", VoiceStyle(name))
        for name in ("gmw/en-us", "gmw/en-us+f3", "gmw/en-gb-x-rp", "gmw/en-gb-x-rp+m3")
    }
    names = list(renderings)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            a, b = renderings[one], renderings[other]
            length = min(len(a), len(b))
            assert abs(np.corrcoef(a[:length], b[:length])[0, 1]) < 0.8, (one, other)
    over_radio = voice.render("Descend and maintain three thousand.", VoiceStyle("gmw/en-us", radio=True))
    assert np.array_equal(over_radio, renderings["gmw/en-us"])


def test_the_engine_says_what_it_is_and_has(voice):
    assert voice.name.startswith("pyttsx3 2.99, espeak-ng 1.")
    assert "gmw/en-us" in voice.voices() and "f3" in voice.variants()


@pytest.mark.parametrize("name", ["gmw/en-nowhere", "gmw/en-us+nobody", "mb/mb-us1", ""])
def test_a_voice_that_is_not_there_is_refused_not_replaced(voice, name):
    """espeak-ng itself takes the default voice, or gives a click, and reports success."""
    with pytest.raises(VoiceError, match="has no v"):
        voice.render("Gear down.", VoiceStyle(name))


@pytest.mark.parametrize("text", ["", "   ", "\n", "...", "—"])
def test_nothing_to_say_is_refused_at_once(voice, text):
    with pytest.raises(VoiceError, match="nothing to say"):
        voice.render(text, STYLE)


@pytest.mark.parametrize(
    "text", ["Gear\0 down", "Gear\ndown", "Gear \x1b[1m down", "café", "<speak>gear</speak>"]
)
def test_odd_characters_are_spoken_around(voice, text):
    assert 0.2 < len(voice.render(text, STYLE)) / 16_000 < 6


@pytest.mark.parametrize("words_per_minute", [0, 79, 451])
def test_a_rate_that_the_engine_would_ignore_is_refused(voice, words_per_minute):
    with pytest.raises(VoiceError, match="words a minute"):
        voice.render("Gear down.", VoiceStyle("gmw/en-us", words_per_minute))


def test_a_child_that_takes_too_long_is_ended():
    with pytest.raises(VoiceError, match="did not finish within"):
        Pyttsx3Voice(timeout_seconds=0.01)


def test_without_espeak_the_package_to_install_is_named(tmp_path, monkeypatch):
    """The loader stops at a library that is no library, so this machine has no espeak-ng for a while."""
    for name in ("libespeak-ng.so.1", "libespeak.so.1"):
        (tmp_path / name).write_bytes(b"no library")
    monkeypatch.setenv("LD_LIBRARY_PATH", str(tmp_path))
    with pytest.raises(VoiceError, match="sudo apt install espeak-ng"):
        Pyttsx3Voice()


def test_a_file_in_the_students_folder_cannot_stand_in_for_a_module(tmp_path, monkeypatch):
    (tmp_path / "json.py").write_text("raise SystemExit('the wrong json')\n")
    monkeypatch.chdir(tmp_path)
    assert len(Pyttsx3Voice().render("Gear down.", STYLE)) > 0


def ask_the_child(path: Path) -> dict[str, str]:
    request = {"text": "Gear down.", "voice": "gmw/en-us", "words_per_minute": 165, "path": str(path)}
    child = subprocess.run(
        [sys.executable, "-m", "voice_trainer.voices.pyttsx3_child"],
        input=json.dumps(request),
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        check=True,
    )
    return json.loads(child.stdout)


def test_the_child_reports_a_file_that_cannot_be_written(tmp_path):
    assert "No such file or directory" in ask_the_child(tmp_path / "nowhere" / "speech.wav")["error"]


def test_the_child_alone_speaks_one_text_to_one_file(tmp_path):
    path = tmp_path / "speech.wav"
    assert ask_the_child(path) == {}
    with wave.open(str(path)) as recording:
        assert recording.getnframes() > 0.3 * recording.getframerate()
