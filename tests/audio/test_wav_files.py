"""Recordings of every kind that people have, and files that only look like one.

What is written is checked with the `wave` module of the standard library, which shares no code with ours.
"""

import signal
import stat
import struct
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.effects import level_dbfs
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.wav import WavWriter, read_wav, write_wav


def sine(frequency_hz: float, seconds: float, rate_hz: int, amplitude: float = 0.5) -> np.ndarray:
    return amplitude * np.sin(2 * np.pi * frequency_hz * np.arange(round(seconds * rate_hz)) / rate_hz)


def loudest_hz(samples: np.ndarray) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum)) * SAMPLE_RATE_HZ / len(samples)


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_and_number_of_channels_gives_the_same_sound(tmp_path: Path, rate_hz: int, channels: int):
    path = tmp_path / "tone.wav"
    tone = np.tile(sine(440, 0.4, rate_hz)[:, np.newaxis], (1, channels))
    soundfile.write(path, tone, rate_hz, subtype="PCM_16")
    samples = read_wav(path)
    assert samples.dtype == np.int16 and samples.shape == (6400,)
    assert abs(loudest_hz(samples) - 440) <= 2
    assert abs(level_dbfs(samples[800:-800]) - 20 * np.log10(0.5)) < 0.1


@pytest.mark.parametrize(
    ("suffix", "subtype"),
    [
        (".wav", "PCM_U8"),
        (".wav", "PCM_24"),
        (".wav", "PCM_32"),
        (".wav", "FLOAT"),
        (".wav", "DOUBLE"),
        (".wav", "ULAW"),
        (".wav", "IMA_ADPCM"),
        (".flac", "PCM_16"),
        (".aiff", "PCM_24"),
        (".ogg", "VORBIS"),
    ],
)
def test_any_bit_depth_and_container_gives_the_same_sound(tmp_path: Path, suffix: str, subtype: str):
    path = tmp_path / f"tone{suffix}"
    soundfile.write(path, sine(440, 0.5, 16_000), 16_000, subtype=subtype)
    samples = read_wav(path)
    assert abs(len(samples) - 8000) <= 1024  # a compressed file is padded to whole blocks
    assert abs(loudest_hz(samples) - 440) <= 2
    assert abs(level_dbfs(samples[800:7200]) - 20 * np.log10(0.5)) < 0.3


def test_channels_are_averaged(tmp_path: Path):
    path = tmp_path / "stereo.wav"
    left, right = sine(440, 0.2, 16_000, 0.5), np.zeros(3200)
    soundfile.write(path, np.stack([left, right], axis=1), 16_000, subtype="PCM_24")
    assert np.abs(read_wav(path) - left * 16384).max() <= 1


def test_float_samples_beyond_full_scale_are_clipped_not_wrapped_around(tmp_path: Path):
    path = tmp_path / "hot.wav"
    soundfile.write(path, np.array([2.0, -2.0, 0.25] * 100), 16_000, subtype="FLOAT")
    assert read_wav(path)[:3].tolist() == [32767, -32768, 8192]


def refusal(path: Path) -> str:
    with pytest.raises(AudioError) as caught:
        read_wav(path)
    line = str(caught.value)
    assert str(path) in line and "\n" not in line
    return line


def test_a_missing_file_is_refused(tmp_path: Path):
    assert refusal(tmp_path / "nowhere.wav").endswith("no such file: check its name and folder")


def test_a_folder_is_refused(tmp_path: Path):
    assert "a folder" in refusal(tmp_path)


def test_an_empty_file_is_refused(tmp_path: Path):
    path = tmp_path / "empty.wav"
    path.touch()
    assert "empty" in refusal(path)


def test_a_file_that_cannot_be_opened_is_refused(tmp_path: Path):
    path = tmp_path / "loop.wav"
    path.symlink_to(path)  # permissions would not stop a test that runs as root
    assert "can't be read" in refusal(path)


@pytest.mark.parametrize(
    "content", [b"Turn left heading two eight four.", b"RIFF\x24\0\0\0WAVE", b"\0" * 5000]
)
def test_a_file_that_is_no_recording_is_refused(tmp_path: Path, content: bytes):
    path = tmp_path / "letter.wav"
    path.write_bytes(content)
    assert "not a recording" in refusal(path)


def test_a_recording_without_samples_is_refused(tmp_path: Path):
    path = tmp_path / "nothing.wav"
    soundfile.write(path, np.zeros(0), 16_000)
    assert "no samples" in refusal(path)


def test_not_a_number_is_refused(tmp_path: Path):
    path = tmp_path / "nan.wav"
    soundfile.write(path, np.array([0.0, np.nan, 0.1]), 16_000, subtype="FLOAT")
    assert "not numbers" in refusal(path)


def test_a_sample_rate_that_holds_no_speech_is_refused(tmp_path: Path):
    path = tmp_path / "slow.wav"
    soundfile.write(path, np.zeros(100), 100)
    assert "100 Hz" in refusal(path)


@pytest.mark.parametrize(("channels", "subtype"), [(1, "PCM_16"), (2, "PCM_24")])
def test_a_recording_that_was_cut_off_is_refused_and_says_how_much_is_missing(
    tmp_path: Path, channels: int, subtype: str
):
    whole = tmp_path / "whole.wav"
    soundfile.write(whole, np.zeros((48_000 * 4, channels)), 48_000, subtype=subtype)
    frame_bytes = channels * {"PCM_16": 2, "PCM_24": 3}[subtype]
    cut = tmp_path / "cut.wav"
    cut.write_bytes(whole.read_bytes()[: -frame_bytes * 48_000 * 3 // 2])
    assert "1.5 of the 4.0 seconds that its header promises are missing" in refusal(cut)


def test_a_compressed_recording_that_was_cut_off_is_refused(tmp_path: Path):
    whole = tmp_path / "whole.flac"
    soundfile.write(whole, np.random.default_rng(1).normal(0, 0.1, 64_000), 16_000)
    cut = tmp_path / "cut.flac"
    cut.write_bytes(whole.read_bytes()[:40_000])
    refusal(cut)


def test_a_recording_from_a_pipe_has_no_length_in_its_header_and_is_whole(tmp_path: Path):
    path = tmp_path / "piped.wav"
    write_wav(path, np.arange(1000, dtype=np.int16))
    data = bytearray(path.read_bytes())
    data[4:8] = data[40:44] = struct.pack("<I", 0xFFFFFFFF)
    path.write_bytes(data)
    assert read_wav(path).tolist() == list(range(1000))


def read_with_wave(path: Path) -> np.ndarray:
    with wave.open(str(path)) as recording:
        assert recording.getparams()[:3] == (1, 2, SAMPLE_RATE_HZ)
        data = recording.readframes(recording.getnframes())
        assert len(data) == 2 * recording.getnframes()
    return np.frombuffer(data, dtype="<i2")


@given(blocks=st.lists(st.lists(st.integers(-32768, 32767), max_size=50), max_size=8))
def test_a_growing_file_is_whole_after_every_block(tmp_path_factory: pytest.TempPathFactory, blocks):
    path = tmp_path_factory.mktemp("growing") / "session.wav"
    expected: list[int] = []
    with WavWriter(path) as writer:
        for block in blocks:
            writer.append(np.array(block, dtype=np.int16))
            expected += block
            assert read_with_wave(path).tolist() == expected
        assert writer.seconds == len(expected) / SAMPLE_RATE_HZ
    if expected:
        assert read_wav(path).tolist() == expected


def test_a_file_whose_writer_was_killed_is_whole(tmp_path: Path):
    path = tmp_path / "session.wav"
    program = (
        "import os, signal, sys, numpy; from voice_trainer.audio.wav import WavWriter\n"
        "writer = WavWriter(sys.argv[1])\n"
        "for i in range(100): writer.append(numpy.full(512, i, dtype=numpy.int16))\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    child = subprocess.run(
        [sys.executable, "-c", program, str(path)], cwd=Path(__file__).parents[2], check=False
    )
    assert child.returncode == -signal.SIGKILL
    assert read_with_wave(path).tolist() == np.repeat(np.arange(100), 512).tolist()


def test_a_private_file_is_for_its_owner_only_also_where_a_public_one_was(tmp_path: Path):
    path = tmp_path / "session.wav"
    path.write_bytes(b"")
    path.chmod(0o644)
    WavWriter(path, private=True).close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_file_that_cannot_be_written_is_an_error_of_ours(tmp_path: Path):
    path = tmp_path / "no folder" / "out.wav"
    with pytest.raises(AudioError, match="can't be written"):
        write_wav(path, np.zeros(10, dtype=np.int16))


def test_a_full_disk_is_an_error_of_ours():
    with pytest.raises(AudioError, match="can't be written"):
        write_wav("/dev/full", np.zeros(10, dtype=np.int16))
