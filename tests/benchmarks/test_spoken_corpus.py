"""What the recognition benchmark is made of: the corpus' own promises."""

import itertools
import json
import random
from pathlib import Path

import numpy as np
import pytest
import soundfile

from scripts.benchmarks import corpus as corpus_module
from scripts.benchmarks import phrases
from scripts.benchmarks.conditions import CONDITIONS, finished, nonspeech
from scripts.benchmarks.corpus import make_corpus, planned, voices_here
from scripts.benchmarks.lines import (
    FIGURES_ONLY,
    FOUR_CALLS,
    KINDS,
    NUMBER_EDITS,
    WORD_EDITS,
    grammar_named,
    right_and_twins,
    sources,
)
from scripts.benchmarks.spoken_corpus import Corpus, CorpusError, load_corpus
from scripts.benchmarks.voices import HUMAN, RATE, VOICES, speech, why_not
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.slots import slot_type, slot_type_names

SEED = 3
PLAN = planned(SEED, calls=400)
CORPUS = Corpus(Path(), tuple(PLAN))


def test_every_slot_type_is_said_in_each_half():
    for half in phrases.HALVES:
        said = {
            phrases.label_of(slot.type)
            for source in sources()
            if source.half == half
            for slot in slots_of(source.pattern.node)
        }
        # A type without a language of its own ('power', 'fix') takes a drill that declares its values.
        assert said >= {name for name in slot_type_names() if slot_type(name).form is not None}


def test_a_slot_type_without_a_sampler_stops_everything_by_name(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.delitem(phrases.SAMPLERS, "squawk")
    with pytest.raises(phrases.MissingSamplerError, match="slot type squawk: add a line to SAMPLERS"):
        phrases.phrases.__wrapped__("tuning")


def test_no_voice_and_no_phrase_is_in_both_halves():
    assert not set(VOICES["tuning"]) & set(VOICES["test"])
    for name in ("voice", "phrase", "said"):
        of_half = [
            {
                part
                for each in PLAN
                if each.half == half and each.said
                for part in getattr(each, name).split(" + ")
            }
            for half in phrases.HALVES
        ]
        assert of_half[0] and not of_half[0] & of_half[1]


def test_right_calls_and_twins_are_distinct_and_as_many_as_asked_for():
    for half in phrases.HALVES:
        pairs = right_and_twins(half, 150, SEED)
        assert len(pairs) == 150
        said = [(line.grammar, line.words) for pair in pairs for line in pair if line]
        assert len(set(said)) == len(said) >= 290


def test_a_right_call_means_one_thing_and_its_twin_never_that():
    twins = [each for each in PLAN if each.kind == "twin"]
    assert {each.edit for each in twins} == {*NUMBER_EDITS, *WORD_EDITS}
    for each in twins:
        assert each.right_meaning is not None
        assert each.meaning != each.right_meaning
        grammar = grammar_named(each.drill)
        assert grammar.read(each.said.split()) != grammar.read(each.right.split())
    assert all(each.meaning is not None for each in PLAN if each.kind == "right")


def test_unrelated_speech_holds_no_call():
    for each in PLAN:
        if each.kind == "unrelated":
            (pieces, *_) = grammar_named(each.drill).read(each.said.split())
            assert {piece.kind for piece in pieces} == {"other"}


def test_four_calls_read_as_four_calls():
    fours = [each for each in PLAN if each.kind == FOUR_CALLS]
    assert fours
    for each in fours:
        assert len(grammar_named(each.drill).read(each.said.split())[0]) == 4


def test_the_same_seed_says_the_same_and_another_one_does_not():
    assert planned(SEED, calls=60) == planned(SEED, calls=60) != planned(SEED + 1, calls=60)


def test_a_sample_has_its_share_of_every_kind_and_condition():
    whole, sample = CORPUS.select("tuning"), CORPUS.select("tuning", 80, seed=2)
    assert len(sample) == len(set(sample)) == 80
    assert sample == CORPUS.select("tuning", 80, seed=2) != CORPUS.select("tuning", 80, seed=4)
    assert all(each.half == "tuning" for each in sample)
    for kind in KINDS:
        share = sum(each.kind == kind for each in whole) * 80 / len(whole)
        assert abs(sum(each.kind == kind for each in sample) - share) <= len(CONDITIONS)


def test_bare_figures_are_said_by_the_recorded_person_only_and_she_says_nothing_else():
    plan = planned(SEED, 400, frozenset({*VOICES["tuning"], *VOICES["test"]}))
    assert not [each for each in plan if each.drill.startswith(FIGURES_ONLY)]
    for each in PLAN:
        assert each.drill.startswith(FIGURES_ONLY) == (each.voice == HUMAN)


def test_a_corpus_stays_what_it_is_where_other_voices_are_installed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def manifest() -> str:
        return (tmp_path / "manifest.jsonl").read_text(encoding="utf-8")

    make_corpus(tmp_path, SEED, 60, render_all=False)
    before = manifest()
    gone = "flite:slt"
    assert gone in before
    monkeypatch.setattr(corpus_module, "voices_here", lambda: voices_here() - {gone})
    make_corpus(tmp_path, SEED, 60, render_all=False)
    assert manifest() == before


def test_a_folder_of_another_corpus_is_left_alone(tmp_path: Path):
    make_corpus(tmp_path, SEED, 60, render_all=False)
    with pytest.raises(CorpusError, match="holds the corpus of seed 3 with 60 calls"):
        make_corpus(tmp_path, SEED + 1, 60, render_all=False)
    manifest = tmp_path / "manifest.jsonl"
    other_version = manifest.read_text().replace("heading", "steer")
    manifest.write_text(other_version)
    with pytest.raises(CorpusError, match="planned by another version"):
        make_corpus(tmp_path, SEED, 60, render_all=False)
    assert manifest.read_text() == other_version
    own = tmp_path / "own"
    own.mkdir()
    (own / "manifest.jsonl").write_text('{"file": "a.wav", "said": "roger"}\n')
    with pytest.raises(CorpusError, match="was not made here"):
        make_corpus(own, SEED, 60, render_all=False)
    assert "roger" in (own / "manifest.jsonl").read_text()


# --- sounds ----------------------------------------------------------------------------------------------

BABBLE = np.random.default_rng(1).standard_normal(RATE * 4) * 0.1
SPEECH = 0.5 * np.sin(np.arange(RATE) * 2 * np.pi * 440 / RATE)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_a_condition_keeps_what_is_said_between_two_silences(condition: str):
    samples = finished(SPEECH, condition, BABBLE, random.Random(1))
    assert samples.dtype == np.int16
    assert len(samples) >= RATE * 1.6
    assert np.array_equal(samples, finished(SPEECH, condition, BABBLE, random.Random(1)))
    middle = samples[RATE // 2 : RATE].astype(float)
    tone = np.sin(np.arange(len(middle)) * 2 * np.pi * 440 / RATE + np.array([[0.0], [np.pi / 2]]))
    heard = np.hypot(*(tone @ middle)) * 2 / len(middle)
    assert heard > 0.5 * np.sqrt(2) * middle.std()


@pytest.mark.parametrize(
    ("condition", "decibels"), [("engine 10 dB", 10), ("engine 5 dB", 5), ("babble 10 dB", 10)]
)
def test_noise_is_as_far_below_the_speech_as_it_says(condition: str, decibels: float):
    samples = finished(SPEECH, condition, BABBLE, random.Random(2)).astype(float)
    spectrum = np.abs(np.fft.rfft(samples[RATE // 2 : RATE])) ** 2
    at = 440 // 2
    tone = spectrum[at - 1 : at + 2].sum()
    assert 10 * np.log10(tone / (spectrum.sum() - tone)) == pytest.approx(decibels, abs=2.0)


def test_low_level_is_low():
    assert np.abs(finished(SPEECH, "low level", BABBLE, random.Random(1))).max() < 0.04 * 32768


@pytest.mark.parametrize("what", phrases.NONSPEECH)
def test_sounds_that_are_no_speech_are_sounds(what: str):
    samples = nonspeech(what, BABBLE, random.Random(1))
    assert RATE <= len(samples) <= 3 * RATE
    assert np.abs(samples).max() > 300


# --- recorded corpora ------------------------------------------------------------------------------------


def _folder(tmp_path: Path, *entries: object) -> Path:
    lines = [each if isinstance(each, str) else json.dumps(each) for each in entries]
    (tmp_path / "manifest.jsonl").write_text("\n".join(lines), encoding="utf-8")
    return tmp_path


def test_a_recorded_corpus_needs_only_files_and_words(tmp_path: Path):
    soundfile.write(tmp_path / "a.wav", np.zeros((48_000, 2)), 48_000)
    corpus = load_corpus(
        _folder(
            tmp_path,
            {"file": "a.wav", "said": "Turn left, heading 284", "speaker": "ann", "condition": "headset"},
            {"file": "b.wav", "said": "time not required", "drill": "kelda-outbound"},
            {"file": "c.wav", "said": "what shall we have for lunch"},
        )
    )
    first, second, third = corpus.utterances
    assert (first.said, first.kind, first.voice) == ("turn left heading two eight four", "right", "ann")
    assert first.meaning == first.right_meaning is not None
    assert len(first.samples()) == RATE
    assert (second.kind, second.drill, third.kind) == ("right", "kelda-outbound", "unrelated")


@pytest.mark.parametrize(
    ("entry", "fault"),
    [
        ("{", "manifest.jsonl:2: no JSON"),
        ({"file": "a.wav"}, 'manifest.jsonl:2: needs "file" and "said"'),
        ([], 'manifest.jsonl:2: needs "file" and "said"'),
        ({"file": "a.wav", "said": "roger", "drill": "no-such"}, "manifest.jsonl:2: drill 'no-such'"),
        ({"file": "a.wav", "said": "roger", "kind": "good"}, "manifest.jsonl:2: kind 'good'"),
        ({"file": "a.wav", "said": "roger", "half": "third"}, "manifest.jsonl:2: half 'third'"),
    ],
)
def test_a_fault_in_a_manifest_is_named_with_its_line(tmp_path: Path, entry: object, fault: str):
    with pytest.raises(CorpusError, match=fault):
        load_corpus(_folder(tmp_path, {"file": "a.wav", "said": "roger"}, entry))


def test_a_folder_without_a_manifest_and_a_file_that_is_no_sound_are_named(tmp_path: Path):
    with pytest.raises(CorpusError, match=r"manifest\.jsonl"):
        load_corpus(tmp_path)
    (tmp_path / "a.wav").write_text("no sound")
    (only,) = load_corpus(_folder(tmp_path, {"file": "a.wav", "said": "roger"})).utterances
    with pytest.raises(CorpusError, match=r"a\.wav: can't be read as sound"):
        only.samples()


def test_no_two_voices_are_one_voice_under_two_names():
    # espeak-ng speaks with its plain voice where it does not know a variant: names prove nothing.
    there = [voice for half in phrases.HALVES for voice in VOICES[half] if not why_not(voice)]
    sounds = {
        speech(voice, ["turn", "left", "heading", "two", "eight", "four"], 1.0).tobytes() for voice in there
    }
    assert len(there) >= 20
    assert len(sounds) == len(there)


def test_a_variant_that_espeak_does_not_know_is_left_out():
    assert why_not("espeak:gmw/en-US+no-such-variant") == "espeak-ng has no variant no-such-variant"
    assert why_not("espeak:gmw/en-US+linda") == ""


def test_speakers_are_one_person_in_one_half_only():
    speakers = {
        "slt": {"flite:slt", "festival:cmu_us_slt_arctic_hts"},
        "kal": {"flite:kal16", "festival:kal_diphone"},
    }
    for voices, half in itertools.product(speakers.values(), phrases.HALVES):
        assert len(voices & set(VOICES[half])) in (0, len(voices))
