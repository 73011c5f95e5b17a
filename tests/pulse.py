"""A private PulseAudio for tests that need real devices on a machine that has none.

The server lives in a temporary directory, knows two null sinks and a microphone, and dies with the test:

- sink `speaker`, what the trainer plays to; `speaker.monitor` is what came out of it
- sink `micfeed`, where a test plays what the student says; source `microphone` is that sink's monitor

PortAudio finds them by the ALSA names in ALSA_DEVICES. A process that is to see them must be started with
`PrivatePulse.env`: ALSA and PortAudio read it once, when they are loaded.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.int16]

ALSA_DEVICES = {
    "trainer_microphone": "microphone",
    "trainer_speaker": "speaker",
    "speaker_loopback": "speaker_heard",
    "micfeed_player": "micfeed",
}
"""ALSA name, as PortAudio lists it, to the sink or source of the private server."""

_SERVER_SCRIPT = """\
load-module module-native-protocol-unix auth-anonymous=1 socket={socket}
load-module module-null-sink sink_name=speaker norewinds=1 rate=48000 channels=1 channel_map=mono
load-module module-null-sink sink_name=micfeed norewinds=1 rate=48000 channels=1 channel_map=mono
load-module module-remap-source master=micfeed.monitor source_name=microphone channels=1 channel_map=mono
load-module module-remap-source master=speaker.monitor source_name=speaker_heard channels=1 channel_map=mono
set-default-sink speaker
set-default-source microphone
"""
# norewinds: with rewinding, the first sample of a clip comes out a second late.

_ALSA_DEFAULTS = """\
pcm.!default { type pulse hint { show on description "default" } }
ctl.!default { type pulse }
pcm.pulse { type pulse hint { show on description "pulse" } }
ctl.pulse { type pulse }
"""


class PrivatePulse:
    """A PulseAudio server of our own, from `with` to its end; `kill` and `start` play the unplugged device.

    Raises RuntimeError, with the server's own words, when it doesn't come up.
    """

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="pulse-"))
        self._server: subprocess.Popen[bytes] | None = None
        self._players: list[subprocess.Popen[bytes]] = []
        socket = self.folder / "native"
        (self.folder / "server.pa").write_text(_SERVER_SCRIPT.format(socket=socket))
        alsa = _ALSA_DEFAULTS + "".join(
            f'pcm.{name} {{ type pulse device {target} hint {{ show on description "{name}" }} }}\n'
            for name, target in ALSA_DEVICES.items()
        )
        (self.folder / "asound.conf").write_text(alsa)
        folder = str(self.folder)
        self.env = os.environ | {
            "HOME": folder,  # pulseaudio and its clients write to ~/.config/pulse
            "XDG_CONFIG_HOME": folder,
            "XDG_RUNTIME_DIR": folder,
            "PULSE_RUNTIME_PATH": folder,
            "PULSE_STATE_PATH": folder,
            "PULSE_COOKIE": f"{folder}/cookie",
            "PULSE_SERVER": f"unix:{socket}",
            "PULSE_SINK": "speaker",
            "PULSE_SOURCE": "microphone",
            "ALSA_CONFIG_PATH": f"{folder}/asound.conf",
        }
        self.env.pop("DBUS_SESSION_BUS_ADDRESS", None)

    def __enter__(self) -> Self:
        try:
            self.start()
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def start(self) -> None:
        """Start the server (again) and wait until it answers."""
        log = self.folder / "server.log"
        with log.open("ab") as output:
            self._server = subprocess.Popen(
                [
                    "pulseaudio",
                    "-n",
                    "--daemonize=no",
                    "--use-pid-file=no",
                    "--exit-idle-time=-1",
                    "--realtime=no",
                    "--high-priority=no",
                    "-F",
                    str(self.folder / "server.pa"),
                ],
                env=self.env,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=output,
            )
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline:
            if self._server.poll() is not None:
                break
            # With its last module loaded the server is complete; an earlier answer finds no devices yet.
            answer = subprocess.run(
                ["pactl", "list", "short", "sources"],
                env=self.env,
                capture_output=True,
                text=True,
                check=False,
            )
            if "speaker_heard" in answer.stdout:
                return
            time.sleep(0.05)
        raise RuntimeError(f"pulseaudio did not start: {log.read_text(errors='replace')[-2000:]}")

    def kill(self) -> None:
        """End the server at once, as if every device were unplugged."""
        if self._server is not None:
            self._server.kill()
            self._server.wait()
            self._server = None

    def suspend(self, seconds: float) -> None:
        """Stop the server's clock for a while: its devices deliver nothing, then go on."""
        assert self._server is not None
        self._server.send_signal(signal.SIGSTOP)
        time.sleep(seconds)
        self._server.send_signal(signal.SIGCONT)

    def say(self, samples: Samples, rate_hz: int = 16_000, *, wait: bool = False) -> None:
        """Play mono PCM to the microphone, beginning now; `wait` returns when it has been played."""
        player = subprocess.Popen(
            [
                "paplay",
                "--raw",
                f"--rate={rate_hz}",
                "--channels=1",
                "--format=s16le",
                "--device=micfeed",
                "--latency-msec=200",  # without it paplay asks for two seconds, and begins late
            ],
            env=self.env,
            stdin=subprocess.PIPE,
        )
        assert player.stdin is not None
        data = np.asarray(samples, dtype="<i2").tobytes()
        if wait:
            player.communicate(data)
            return
        self._players.append(player)
        threading.Thread(target=player.communicate, args=(data,), daemon=True).start()

    def record_speaker(self, seconds: float, rate_hz: int = 16_000) -> Samples:
        """What the speaker plays in the next `seconds`, mono PCM."""
        with SpeakerRecording(self, rate_hz) as recording:
            return recording.read(seconds)

    def close(self) -> None:
        """End everything that was started, and remove the directory."""
        for player in self._players:
            if player.poll() is None:
                player.kill()
            player.wait()
        self._players.clear()
        if self._server is not None:
            self._server.terminate()
            try:
                self._server.wait(timeout=3)
            except subprocess.TimeoutExpired:
                self._server.kill()
                self._server.wait()
            self._server = None
        shutil.rmtree(self.folder, ignore_errors=True)


class SpeakerRecording:
    """Streams what the speaker plays (`speaker.monitor`), from construction on, until it is closed."""

    def __init__(self, pulse: PrivatePulse, rate_hz: int = 16_000) -> None:
        self._rate_hz = rate_hz
        self._process = subprocess.Popen(
            [
                "parec",
                "--raw",
                f"--rate={rate_hz}",
                "--channels=1",
                "--format=s16le",
                "--device=speaker.monitor",
                "--latency-msec=20",
            ],
            env=pulse.env,
            stdout=subprocess.PIPE,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def read(self, seconds: float) -> Samples:
        """The next `seconds` of it, waiting for them; less if the server has gone."""
        assert self._process.stdout is not None
        data = self._process.stdout.read(2 * round(seconds * self._rate_hz))
        return np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2").astype(np.int16)

    def close(self) -> None:
        """Stop recording."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()
