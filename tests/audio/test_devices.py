"""Finding devices by name; and machines that have none, or no PortAudio."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

from voice_trainer.audio.devices import AudioDevice, AudioDevices
from voice_trainer.audio.errors import AudioError

CHECKOUT = Path(__file__).parents[2]


def device(index: int, name: str, inputs: int = 1, outputs: int = 2) -> AudioDevice:
    return AudioDevice(name, "ALSA", index, inputs, outputs, 48_000.0)


HEADSET = device(0, "Blue Headset: USB Audio (hw:2,0)")
INTERNAL = device(1, "HDA Intel PCH: ALC257 Analog (hw:0,0)")
WEBCAM = device(2, "Blue Camera: USB Audio (hw:3,0)", outputs=0)
DEFAULT = device(5, "default", 32, 32)
DEVICES = AudioDevices((HEADSET, INTERNAL, WEBCAM, DEFAULT), (HEADSET, INTERNAL, DEFAULT), DEFAULT, DEFAULT)


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (None, DEFAULT),
        (2, WEBCAM),
        ("default", DEFAULT),
        ("blue headset", HEADSET),
        ("camera", WEBCAM),
        ("ALC257", INTERNAL),
        (WEBCAM.name, WEBCAM),
    ],
)
def test_a_device_is_found_by_its_number_or_a_part_of_its_name(wanted, found):
    assert DEVICES.find(wanted, "input") == found


def test_a_microphone_alone_is_no_speaker():
    with pytest.raises(AudioError, match="no speaker is called 'camera'"):
        DEVICES.find("camera", "output")
    with pytest.raises(AudioError, match="no speaker has the number 2"):
        DEVICES.find(2, "output")


def test_a_name_that_fits_two_is_refused_and_both_are_named():
    with pytest.raises(AudioError) as caught:
        DEVICES.find("blue", "input")
    assert "Headset" in str(caught.value) and "Camera" in str(caught.value)
    assert DEVICES.find("blue", "output") == HEADSET


def test_a_misspelt_name_gets_the_nearest_ones():
    with pytest.raises(AudioError, match=r"nearest are .*default"):
        DEVICES.find("defualt", "input")


def test_without_devices_the_error_says_so():
    with pytest.raises(AudioError, match="no microphone"):
        AudioDevices((), (), None, None).find(None, "input")


CHECK = """
from voice_trainer.audio.devices import usable_microphone, usable_speaker
for check in (usable_microphone(), usable_speaker()):
    print(bool(check), check.reason)
"""


def check_in_a_child(env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", CHECK], cwd=CHECKOUT, env=env, capture_output=True, text=True, check=True
    )


def test_a_machine_without_a_sound_card_is_recognised_quickly_and_quietly(tmp_path):
    (tmp_path / "asound.conf").write_text(
        "pcm.broken { type hw card 17 hint { show on description broken } }\n"
    )
    started = time.monotonic()
    child = check_in_a_child({"ALSA_CONFIG_PATH": str(tmp_path / "asound.conf"), "PATH": "/usr/bin"})
    assert time.monotonic() - started < 5
    microphone, speaker = child.stdout.splitlines()
    assert microphone.startswith("False no microphone") and speaker.startswith("False no speaker")
    assert child.stderr == ""


def test_without_portaudio_the_package_to_install_is_named(tmp_path):
    """A stand-in module fails as sounddevice does where the library is missing."""
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')\n")
    child = check_in_a_child({"PYTHONPATH": str(tmp_path), "PATH": "/usr/bin"})
    lines = child.stdout.splitlines()
    assert len(lines) == 2 and all(line.startswith("False ") and "libportaudio2" in line for line in lines)
    assert child.stderr == ""
