"""What becomes of speech on its way into a headset: made on the GPU, other for every clip and every time.

Signals are batches, one clip a row, with `lengths` samples that belong to it. Levels are relative to the speech, over
the whole clip. What the program's endpointer hears is what is imitated: an engine, other people, a room, a radio, a
headset, a level that somebody set wrong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor

RATE = 16_000

_ROOM_SECONDS = 0.6
_QUIET_LEVEL = 0.05
"""Of noise where nobody speaks."""


@dataclass(frozen=True)
class Strength:
    """How often what happens to a clip."""

    room: float = 0.30
    babble: float = 0.30
    noise: float = 0.50
    knock: float = 0.12
    radio: float = 0.30
    colour: float = 0.50
    clipping: float = 0.06
    dropouts: float = 0.06


class Augmentation:
    """Draws on its device's chance, which the training seeds."""

    def __init__(self, device: torch.device, strength: Strength | None = None) -> None:
        self._device = device
        self._strength = strength or Strength()

    def __call__(self, clips: Tensor, lengths: Tensor, spoken: Tensor, others: Tensor) -> Tensor:
        """Clips as they are heard. `spoken`: 1 where there is speech, 0 where there is to be noise only. `others`: the
        talk of other people, as many rows as there are clips, as long."""
        strength = self._strength
        inside = (torch.arange(clips.shape[1], device=self._device)[None] < lengths[:, None]).float()
        clips = self._in_a_room(clips, self._on(clips, strength.room))
        level = _level(clips, inside) * spoken + (1 - spoken) * _QUIET_LEVEL
        talk = torch.maximum(self._on(clips, strength.babble), (1 - spoken) * self._on(clips, 0.35))
        clips = clips + talk * self._babble(others, inside) * level * _gain(-self._between(clips, 3, 20))
        noisy = torch.maximum(self._on(clips, strength.noise), (1 - spoken) * self._on(clips, 0.85))
        clips = clips + noisy * self._noise(clips) * level * _gain(-self._between(clips, 0, 24))
        clips = clips + self._on(clips, strength.knock) * self._knock(clips) * level * _gain(
            self._between(clips, -18, 4)
        )
        clips = self._through_a_headset(clips)
        clips = clips * self._dropouts(clips, self._on(clips, strength.dropouts))
        clips = clips + torch.randn_like(clips) * level * _gain(-self._between(clips, 22, 62))
        return self._at_some_level(clips, inside)

    def _in_a_room(self, clips: Tensor, on: Tensor) -> Tensor:
        size = round(RATE * _ROOM_SECONDS)
        seconds = torch.arange(size, device=self._device)[None] / RATE
        decay = self._between(clips, 0.1, 0.7)
        echo = torch.randn(len(clips), size, device=self._device) * torch.exp(-6.9 * seconds / decay)
        echo = echo * (seconds > self._between(clips, 0.001, 0.02))
        echo = echo / echo.square().sum(1, keepdim=True).sqrt() * _gain(self._between(clips, -16, 0))
        echo[:, 0] = 1.0
        return clips * (1 - on) + _filtered(clips, torch.fft.rfft(echo, n=clips.shape[1] + size)) * on

    def _babble(self, others: Tensor, inside: Tensor) -> Tensor:
        """One to six people at once, none of them near: as loud together as speech."""
        count = len(others)
        voices = torch.randint(1, 7, (count, 1), device=self._device)
        mixed = torch.zeros_like(others)
        for number in range(6):
            who = torch.randperm(count, device=self._device)
            shift = int(torch.randint(others.shape[1], (1,)))
            loud = _gain(self._between(others, -6, 3)) * (number < voices)
            mixed = mixed + torch.roll(others[who], shift, 1) * loud
        muffled = self._on(others, 0.5)
        hertz = torch.fft.rfftfreq(mixed.shape[1], 1 / RATE, device=self._device)[None]
        wall = 1 / (1 + (hertz / self._between(others, 1200, 6000)) ** 2)
        dull = torch.fft.irfft(torch.fft.rfft(mixed) * wall, n=mixed.shape[1])
        mixed = mixed * (1 - muffled) + dull * muffled
        return mixed / _level(mixed, inside)

    def _noise(self, clips: Tensor) -> Tensor:
        """An engine: broad noise that falls off with the pitch, a propeller's harmonics, or both; some of it swells."""
        count, size = clips.shape
        hertz = torch.fft.rfftfreq(size, 1 / RATE, device=self._device)[None]
        shape = (hertz.clamp(min=30) / 100) ** -self._between(clips, 0, 2.2)
        shape = shape / (1 + (hertz / (600 * 2 ** self._between(clips, 0, 3.7))) ** 2)
        wind = torch.fft.irfft(
            torch.randn(count, hertz.shape[1], device=self._device, dtype=torch.cfloat) * shape, n=size
        )
        wind = wind / wind.std(1, keepdim=True)
        seconds = torch.arange(size, device=self._device)[None] / RATE
        wobble = 1 + 0.01 * torch.sin(
            2 * math.pi * (self._between(clips, 0.1, 1) * seconds + self._uniform(clips))
        )
        turn = 2 * math.pi * self._between(clips, 50, 170) * seconds * wobble
        fall, propeller = self._between(clips, 0.5, 1.6), torch.zeros_like(clips)
        for number in range(1, 16):
            propeller = propeller + torch.sin(number * turn + 6.28 * self._uniform(clips)) / number**fall
        propeller = propeller / propeller.std(1, keepdim=True)
        share = self._uniform(clips) * self._on(clips, 0.6)
        mixed = wind * (1 - share) + propeller * share
        swell = 0.6 * torch.sin(2 * math.pi * (self._between(clips, 0.2, 6) * seconds + self._uniform(clips)))
        mixed = mixed * (1 + swell * self._on(clips, 0.25))
        return mixed / (mixed.std(1, keepdim=True) + 1e-5)

    def _knock(self, clips: Tensor) -> Tensor:
        """A click, a knock, a breath."""
        seconds = torch.arange(clips.shape[1], device=self._device)[None] / RATE
        since = seconds - self._uniform(clips) * clips.shape[1] / RATE
        decay = 10 ** self._between(clips, -2.4, -0.9)
        return torch.exp(-since.clamp(min=0) / decay) * (since >= 0) * torch.randn_like(clips)

    def _through_a_headset(self, clips: Tensor) -> Tensor:
        """The radio's narrow band, the microphone's colour, and overdriven now and then, mostly on the radio."""
        on = self._on(clips, self._strength.radio)
        hertz = torch.fft.rfftfreq(clips.shape[1], 1 / RATE, device=self._device)[None]
        low, high = self._between(clips, 120, 420), self._between(clips, 2200, 4000)
        band = torch.sigmoid((hertz - low) / 25) * torch.sigmoid((high - hertz) / 60)
        tilt = (hertz.clamp(min=80) / 800) ** (
            self._between(clips, -0.6, 0.6) * self._on(clips, self._strength.colour)
        )
        peak = self._between(clips, 300, 4000)
        bump = _gain(self._between(clips, -9, 9) * torch.exp(-((torch.log2((hertz + 1) / peak)) ** 2)))
        bump = 1 + (bump - 1) * self._on(clips, self._strength.colour)
        heard = torch.fft.irfft(torch.fft.rfft(clips) * (1 - on + on * band) * tilt * bump, n=clips.shape[1])
        hard = torch.maximum(self._on(clips, 0.4) * on, self._on(clips, self._strength.clipping))
        peak_level = heard.abs().amax(1, keepdim=True) + 1e-5
        drive = self._between(clips, 1, 8)
        bent = torch.tanh(heard / peak_level * drive) / torch.tanh(drive) * peak_level
        return heard * (1 - hard) + bent * hard

    def _dropouts(self, clips: Tensor, on: Tensor) -> Tensor:
        """0 where a packet of 10 to 30 ms is lost, a few in a clip."""
        packets = -(-clips.shape[1] // 160)
        size = int(torch.randint(1, 4, (1,)))
        lost = (torch.rand(len(clips), -(-packets // size), device=self._device) < 0.03).float()
        kept = 1 - lost.repeat_interleave(size * 160, 1)[:, : clips.shape[1]]
        return 1 - on + on * kept

    def _at_some_level(self, clips: Tensor, inside: Tensor) -> Tensor:
        """From far too soft to full scale."""
        clips = clips * inside
        decibels = self._between(clips, 0, 30) + self._on(clips, 0.15) * self._between(clips, 0, 16)
        return clips / (clips.abs().amax(1, keepdim=True) + 1e-5) * _gain(-decibels) * 0.98

    def _uniform(self, clips: Tensor) -> Tensor:
        return torch.rand(len(clips), 1, device=self._device)

    def _between(self, clips: Tensor, low: float, high: float) -> Tensor:
        return low + (high - low) * self._uniform(clips)

    def _on(self, clips: Tensor, share: float) -> Tensor:
        return (self._uniform(clips) < share).float()


def _gain(decibels: Tensor) -> Tensor:
    return 10 ** (decibels / 20)


def _level(clips: Tensor, inside: Tensor) -> Tensor:
    return (clips.square() * inside).sum(1, keepdim=True).div(inside.sum(1, keepdim=True)).sqrt() + 1e-5


def _filtered(clips: Tensor, response: Tensor) -> Tensor:
    size = (response.shape[1] - 1) * 2
    full = torch.fft.irfft(torch.fft.rfft(clips, n=size) * response, n=size)
    return full[:, : clips.shape[1]]
