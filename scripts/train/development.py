"""The development set: sentences and voices that training does not know, heard freely, whole sentences right or not.

Its sounds are made once, with one seed, and are then the same for every model that is judged.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor

from scripts.train.augmentation import Augmentation, Strength
from scripts.train.clips import Batch, Example, Pool
from scripts.train.moonshine import END, Moonshine, half_precision
from scripts.train.rows import Row
from scripts.train.shards import RATE

_NOTHING = Strength(room=0, babble=0, noise=0, knock=0, radio=0, colour=0, clipping=0, dropouts=0)
CONDITIONS = {
    "clean": _NOTHING,
    "engine": Strength(room=0, babble=0, noise=1, knock=0, radio=0, colour=0, clipping=0, dropouts=0),
    "babble": Strength(room=0, babble=1, noise=0, knock=0, radio=0, colour=0, clipping=0, dropouts=0),
    "radio": Strength(room=0, babble=0, noise=0.5, knock=0, radio=1, colour=0, clipping=0, dropouts=0),
    "room": Strength(room=1, babble=0, noise=0, knock=0, radio=0, colour=0, clipping=0, dropouts=0),
}
BREATHS = 60
"""Examples of three sentences in a breath."""

_TOGETHER = 430


@dataclass(frozen=True)
class Heard:
    """A batch of one condition."""

    condition: str
    families: tuple[str, ...]
    samples: Tensor
    lengths: Tensor
    texts: tuple[tuple[int, ...], ...]


def made(folder: Path, rows: list[Row], device: torch.device) -> list[Heard]:
    """The set, of the clips in the folder: each clean and in one other condition, some in a breath."""
    pool = Pool(rows, device, 50_000_000)
    pool.take_in(folder)
    chance = random.Random(5)
    family_of = {clip: family for family, clips in pool.by_family.items() for clip in clips}
    everyone = sorted(family_of)
    if not everyone:
        return []
    examples: dict[str, list[Example]] = {condition: [] for condition in (*CONDITIONS, "breath")}
    others = [name for name in CONDITIONS if name != "clean"]
    for number, clip in enumerate(everyone):
        alone = Example((clip,), (0.25 * RATE, 0.45 * RATE))
        examples["clean"].append(alone)
        examples[others[number % len(others)]].append(alone)
    for _ in range(min(BREATHS, len(everyone) // 4)):
        clips = tuple(
            chance.sample(pool.by_family[max(pool.by_family, key=lambda f: len(pool.by_family[f]))], 3)
        )
        examples["breath"].append(Example(clips, (0.25 * RATE, 0.2 * RATE, 0.12 * RATE, 0.45 * RATE)))
    heard = []
    with torch.random.fork_rng(devices=[torch.cuda.current_device()] if device.type == "cuda" else []):
        torch.manual_seed(7)
        for condition, all_of_them in examples.items():
            all_of_them.sort(key=pool.size)
            change = Augmentation(device, CONDITIONS.get(condition, _NOTHING))
            for at in range(0, len(all_of_them), _TOGETHER):
                some = all_of_them[at : at + _TOGETHER]
                batch = pool.batch(some)
                talk = babble(pool, some, batch, chance)
                samples = change(batch.samples, batch.lengths, batch.spoken, talk)
                texts = tuple(tuple(t for clip in one.clips for t in pool.row(clip).tokens) for one in some)
                families = tuple(family_of[one.clips[0]] for one in some)
                heard.append(Heard(condition, families, samples.half(), batch.lengths, texts))
    return heard


def babble(pool: Pool, examples: list[Example], batch: Batch, chance: random.Random) -> Tensor:
    """Talk of other people for a batch, as many rows and as long."""
    talk = [
        Example(
            (chance.randrange(len(pool)), chance.randrange(len(pool))),
            (chance.uniform(0, 0.3) * RATE, 0.1 * RATE, 0.0),
        )
        for _ in examples
    ]
    made_of = pool.batch(talk).samples
    size = batch.samples.shape[1]
    return made_of.repeat(1, -(-size // made_of.shape[1]))[:, :size]


@torch.no_grad()
def judged(model: Moonshine, heard: list[Heard]) -> dict[str, float]:
    """Which share of the sentences is exactly right, by condition and family, and in all (`all`)."""
    was_training = model.training
    model.eval()
    right: Counter[str] = Counter()
    count: Counter[str] = Counter()
    for batch in heard:
        with half_precision(batch.samples.device):
            written = model.write(batch.samples.float(), batch.lengths)
        for family, said, text in zip(batch.families, written, batch.texts, strict=True):
            for name in ("all", batch.condition, f"{family} {batch.condition}"):
                count[name] += 1
                right[name] += tuple(token for token in said if token != END) == text
    model.train(was_training)
    return {name: round(right[name] / count[name], 4) for name in sorted(count)}


def examples_of(model: Moonshine, heard: list[Heard], most: int = 60) -> list[dict[str, object]]:
    """What was written otherwise: to be read by somebody."""
    wrong: list[dict[str, object]] = []
    for batch in heard:
        written = model.write(batch.samples.float(), batch.lengths)
        wrong.extend(
            {"condition": batch.condition, "family": family, "said": list(text), "written": said}
            for family, said, text in zip(batch.families, written, batch.texts, strict=True)
            if tuple(said) != text
        )
    return random.Random(1).sample(wrong, min(most, len(wrong)))
