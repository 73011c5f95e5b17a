"""The speech model: an encoder and a decoder, as plain ONNX files, run by onnxruntime.

How many tokens there are, the decoder's graph says. Notes that were measured on the model, because no documentation
has them:

- Without a cache the decoder wants the encoder's states once a row; with a cache it reads the keys and values
  of cross-attention only, and those may stay at one row for any number of hypotheses.
- Several tokens at once with a cache are causal, and give the scores of one token at a time.
- Activations are quantised over the whole batch, so a score moves by some tenths of a nat with its company:
  scores that are compared closely must come out of the same batch.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood.model_files import FILES
from voice_trainer.recognition.onnxruntime_offline import onnxruntime

Floats = NDArray[np.float32]
Ids = NDArray[np.int64]

LAYERS = 6
HEADS = 8
HEAD_SIZE = 36
BEGIN = 1
END = 2
SAMPLE_RATE = 16_000


@dataclass(frozen=True, slots=True)
class Sound:
    """One utterance as the decoder sees it: shapes [1, frames, 288] and [1, 8, frames, 36] a layer."""

    states: Floats
    mask: Ids
    cross_keys: tuple[Floats, ...]
    cross_values: tuple[Floats, ...]


@dataclass(frozen=True, slots=True)
class Past:
    """What the decoder remembers of the tokens so far: per layer [rows, 8, tokens, 36]."""

    keys: tuple[Floats, ...]
    values: tuple[Floats, ...]

    def rows(self, chosen: Ids) -> Past:
        """The memory of the chosen rows, in their order; a row may be chosen more than once."""
        return Past(tuple(key[chosen] for key in self.keys), tuple(value[chosen] for value in self.values))


@dataclass(frozen=True, slots=True)
class Start:
    """Where every search of an utterance starts: the sound, the memory of the begin token, the logits after it."""

    sound: Sound
    past: Past
    logits: Floats
    seconds: float


class SpeechModel:
    """Encoder and decoder of one model folder."""

    def __init__(self, folder: Path, threads: int = 2) -> None:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = threads
        options.inter_op_num_threads = 1
        options.log_severity_level = 4
        # Threads that spin while they wait double the work, and are slower as soon as anything else runs.
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        try:
            self._encoder = onnxruntime.InferenceSession(
                str(folder / FILES[0]), options, providers=["CPUExecutionProvider"]
            )
            self._decoder = onnxruntime.InferenceSession(
                str(folder / FILES[1]), options, providers=["CPUExecutionProvider"]
            )
        except Exception as error:  # onnxruntime raises bare classes of its own, one for each reason
            raise RecogniserError(f"{folder}: the speech model can't be loaded ({error})") from error
        self.tokens: int = self._decoder.get_outputs()[0].shape[-1]
        """How many there are."""
        memory = [f"present.{layer}.decoder.{kind}" for layer in range(LAYERS) for kind in ("key", "value")]
        cross = [f"present.{layer}.encoder.{kind}" for layer in range(LAYERS) for kind in ("key", "value")]
        self._step_outputs = ["logits", *memory]
        self._first_outputs = ["logits", *memory, *cross]

    def listen(self, samples: Floats) -> Start:
        """Encode mono samples at 16 kHz (-1..1) and read the begin token."""
        audio = samples[None, :]
        # The mask counts audio samples, also for the decoder, whose input has the encoder's name.
        mask: Ids = np.ones(audio.shape, dtype=np.int64)
        states = self._encoder.run(None, {"input_values": audio, "attention_mask": mask})[0]
        empty = np.zeros((1, HEADS, 0, HEAD_SIZE), dtype=np.float32)
        feed = {
            "input_ids": np.array([[BEGIN]], dtype=np.int64),
            "encoder_hidden_states": states,
            "encoder_attention_mask": mask,
            "use_cache_branch": np.array([False]),
        }
        for layer in range(LAYERS):
            for name in ("decoder.key", "decoder.value", "encoder.key", "encoder.value"):
                feed[f"past_key_values.{layer}.{name}"] = empty
        logits, *rest = self._decoder.run(self._first_outputs, feed)
        memory, cross = rest[: 2 * LAYERS], rest[2 * LAYERS :]
        sound = Sound(states, mask, tuple(cross[0::2]), tuple(cross[1::2]))
        past = Past(tuple(memory[0::2]), tuple(memory[1::2]))
        return Start(sound, past, logits[:, -1], len(samples) / SAMPLE_RATE)

    def step(self, sound: Sound, past: Past, ids: Ids) -> tuple[Past, Floats]:
        """Read more tokens, `ids` of shape [rows, tokens]: the new memory and logits [rows, tokens, vocabulary]."""
        logits, *memory = self._decoder.run(self._step_outputs, self._feed(sound, past, ids))
        return Past(tuple(memory[0::2]), tuple(memory[1::2])), logits

    def _feed(self, sound: Sound, past: Past, ids: Ids) -> dict[str, NDArray[np.generic]]:
        feed: dict[str, NDArray[np.generic]] = {
            "input_ids": ids,
            "encoder_hidden_states": sound.states,
            "encoder_attention_mask": sound.mask,
            "use_cache_branch": np.array([True]),
        }
        for layer in range(LAYERS):
            feed[f"past_key_values.{layer}.decoder.key"] = past.keys[layer]
            feed[f"past_key_values.{layer}.decoder.value"] = past.values[layer]
            feed[f"past_key_values.{layer}.encoder.key"] = sound.cross_keys[layer]
            feed[f"past_key_values.{layer}.encoder.value"] = sound.cross_values[layer]
        return feed


def log_normalisers(logits: Floats) -> Floats:
    """Log of the sum over the last axis: what to take off a logit to get a log-probability."""
    top = logits.max(axis=-1, keepdims=True)
    shifted = logits - top
    np.exp(shifted, out=shifted)
    total: Floats = top[..., 0] + np.log(shifted.sum(axis=-1))
    return total
