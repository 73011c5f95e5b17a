from __future__ import annotations

from pathlib import Path

import pytest

from voice_trainer.recognition.choosing import choose_recogniser, engines
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.vosk_folder import MODEL_FILES, english_models


def make_model(folder: Path) -> Path:
    for name in MODEL_FILES:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"")
    return folder


def test_every_engine_is_listed_with_the_reason_why_it_cannot_be_used(tmp_path):
    listed = {engine.name: engine for engine in engines([tmp_path])}
    assert set(listed) == {"likelihood", "vosk", "pocketsphinx"}
    assert listed["pocketsphinx"].usable
    assert not listed["vosk"].usable
    assert "no English model" in listed["vosk"].reason


def test_english_models_are_found_by_their_folders_name(tmp_path):
    make_model(tmp_path / "vosk-model-small-en-us-0.15")
    make_model(tmp_path / "vosk-model-small-ko-0.22")
    (tmp_path / "vosk-model-en-empty").mkdir()
    assert [path.name for path in english_models([tmp_path, tmp_path / "absent"])] == [
        "vosk-model-small-en-us-0.15"
    ]
    assert {engine.name for engine in engines([tmp_path]) if engine.usable} >= {"vosk", "pocketsphinx"}


def test_an_engine_is_chosen_by_name():
    assert choose_recogniser("pocketsphinx").name.startswith("pocketsphinx ")


def test_automatic_choice_takes_one_that_works():
    assert choose_recogniser("auto").name


@pytest.mark.parametrize("name", ["wishful", "vosk", "vosk:/nowhere", ""])
def test_what_cannot_be_had_is_refused_in_one_line(name, tmp_path):
    with pytest.raises(RecogniserError) as refusal:
        choose_recogniser(name, [tmp_path])
    assert "\n" not in str(refusal.value)


def test_a_model_is_found_by_its_name_and_refused_when_it_is_not_what_was_installed(tmp_path):
    model = make_model(tmp_path / "my-model")
    for name in ("vosk:my-model", f"vosk:{model}"):
        with pytest.raises(RecogniserError, match=f"{model} is not what was installed"):
            choose_recogniser(name, [tmp_path], {model: "0" * 64}.get)


def test_a_model_of_another_name_or_without_a_grammar_that_can_change_is_not_taken_for_english(tmp_path):
    make_model(tmp_path / "vosk-model-bengali")
    make_model(tmp_path / ".unfinished-en")
    (make_model(tmp_path / "vosk-model-en-us-large") / "graph" / "Gr.fst").unlink()
    assert english_models([tmp_path]) == ()
