"""Kokoro's voices that no training and no tuning heard, spoken by onnxruntime on the CPU, one sentence at a time.

They need the folder of sources that scripts/train/README.md describes: of it `kokoro-int8.onnx`, `vocab.json`,
`voices/` and `hibari/`. British voices are given British sounds, all others American ones: whoever's first language is
another keeps that accent.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from scripts.benchmarks.spoken_corpus import CorpusError
from scripts.benchmarks.voices import Sound, at_rate, trimmed
from scripts.train.kokoro_input import RATE, Pronouncer, read_styles, read_vocabulary, tokens_of
from voice_trainer.phraseology.speaking import said_aloud

ENGINE = "kokoro"
NAMES = (
    "af_bella", "af_nova", "af_river", "am_eric", "am_liam", "am_puck", "bf_lily", "bm_lewis", "em_alex", "hf_beta",
    "if_sara", "jm_kumo", "zm_yunxi",
)  # fmt: skip
"""Exactly these: the training and its development set have others, and the rest is left alone."""
KOKORO = tuple(f"{ENGINE}:{name}" for name in NAMES)

_MODEL = "kokoro-int8.onnx"


def fault_of(sources: Path) -> str:
    """What a folder of sources lacks, '' where nothing."""
    files = (_MODEL, "vocab.json", *(f"voices/{name}.bin" for name in NAMES), "hibari/__init__.py")
    missing = [name for name in files if not (sources / name).is_file()]
    return (
        f"{sources / missing[0]} is no file: scripts/train/README.md says where it is from" if missing else ""
    )


def fingerprint(sources: Path) -> str:
    """Short, and another one where the model or a voice is another."""
    digest = hashlib.sha256()
    for name in (_MODEL, "vocab.json", *(f"voices/{name}.bin" for name in NAMES)):
        digest.update((sources / name).read_bytes())
    return digest.hexdigest()[:12]


class KokoroVoices:
    """The model and its voices, loaded once; about two seconds of computing for a second of sound.

    Raises CorpusError where they can't be loaded.
    """

    def __init__(self, sources: Path) -> None:
        # It tells onnxruntime to report nothing: before hibari, which imports it too.
        from voice_trainer.recognition.onnxruntime_offline import onnxruntime

        if str(sources) not in sys.path:
            sys.path.insert(0, str(sources))
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        try:
            self._model = onnxruntime.InferenceSession(
                str(sources / _MODEL), options, providers=["CPUExecutionProvider"]
            )
            self._vocabulary = read_vocabulary(sources)
            self._styles = {name: read_styles(sources, name) for name in NAMES}
            self._pronouncers = {british: Pronouncer(british=british) for british in (False, True)}
        except Exception as error:  # onnxruntime raises bare classes of its own, one for each reason
            raise CorpusError(
                f"{sources}: Kokoro can't be loaded ({error}); get its files again, as scripts/train/README.md says"
            ) from None

    def say(self, voice: str, spoken: Sequence[str], pace: float) -> Sound:
        """The words as a voice ('kokoro:af_bella') says them: peak 0.5, at 16 kHz, without silence around them."""
        name = voice.removeprefix(f"{ENGINE}:")
        if name not in NAMES:
            raise ValueError(f"{voice} is no test voice of Kokoro")
        phonemes = self._pronouncers[name.startswith("b")].phonemes(said_aloud(spoken))
        tokens = tokens_of(phonemes, self._vocabulary)
        (sound,) = self._model.run(
            None,
            {
                "tokens": np.array([[0, *tokens, 0]], np.int64),
                "style": self._styles[name][len(tokens)][None],
                "speed": np.array([pace], np.float32),
            },
        )
        return trimmed(at_rate(np.asarray(sound, np.float64), RATE))
