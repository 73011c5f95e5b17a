"""Fine-tunes the speech model on clips that are spoken meanwhile.

    python -m scripts.train.learn WORK CLIPS OUT --ends-at SECONDS_SINCE_1970 [--batch 128] [--first-clips 15000]

It waits for the first clips, takes in new ones as they come, and keeps a point every so many steps: weights in half
precision, with what the development set says of them. When it is stopped and started again it goes on from its last
point. The rate falls with the time that is left, so the end is where --ends-at says.

Two things hold it to what it knew. The embeddings stay as they are. And its encoder is held to the untuned encoder's on
general English, clean (`HOLD`): what its frames say of everyday words is what people's speech is read from, and
the text that it writes is no measure of that, since the untuned model writes capitals, commas and figures.
"""

from __future__ import annotations

import argparse
import copy
import json
import math
import random
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import torch
from torch import Tensor
from torch.nn import functional

from scripts.train import development
from scripts.train.augmentation import Augmentation
from scripts.train.clips import IGNORED, RATE, Example, Pool
from scripts.train.moonshine import half_precision, loaded
from scripts.train.packed_numbers import unpack
from scripts.train.points import put, read_weights, save_point
from scripts.train.rows import read_rows

HOLD = 0.1
"""How much the encoder is held to the untuned one's, against reading right."""
HELD_KINDS = frozenset({"english", "talk", "words"})
HELD_EXAMPLES = 16
WARMING_STEPS = 200
SMOOTHING = 0.02
EXAMPLES_AHEAD = 12_000
"""So many are drawn at a time; then new clips are taken in."""


def parsed(arguments: list[str]) -> argparse.Namespace:
    reader = argparse.ArgumentParser(
        prog="learn", description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    for name in ("work", "clips", "out"):
        reader.add_argument(name, type=Path)
    reader.add_argument("--ends-at", type=float, required=True)
    reader.add_argument("--batch", type=int, default=128)
    reader.add_argument("--peak", type=float, default=2.5e-4)
    reader.add_argument("--first-clips", type=int, default=15_000)
    reader.add_argument("--point-every", type=int, default=500)
    reader.add_argument("--steps", type=int, default=10**9)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--gigabytes", type=float, default=40)
    reader.add_argument("--weights", type=Path, help="weights to begin with, where a machine was lost")
    return reader.parse_args(arguments)


class Learning:
    """One run."""

    def __init__(self, given: argparse.Namespace) -> None:
        self.given = given
        self.device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
        torch.backends.cuda.matmul.allow_tf32 = True
        torch.manual_seed(given.seed)
        self.chance = random.Random(given.seed)
        self.model = loaded(unpack(given.work / "start.npz.xz")).to(self.device)
        self.untuned = copy.deepcopy(self.model.encoder).eval().requires_grad_(False)
        if given.weights:
            put(self.model, read_weights(given.weights))
        self.model.decoder.embed_tokens.weight.requires_grad_(False)
        self.learning = [one for one in self.model.parameters() if one.requires_grad]
        self.optimiser = torch.optim.AdamW(
            self.learning,
            lr=given.peak,
            betas=(0.9, 0.98),
            weight_decay=1e-4,
            fused=self.device.type == "cuda",
        )
        self.step, self.began_at = 0, time.time()
        self.pool = Pool(read_rows(given.work / "rows.json.gz"), self.device, int(given.gigabytes * 5e8))
        self.held: list[int] = []
        self._looked_at = 0
        self.heard: list[development.Heard] = []
        self._development_files = 0
        self.change = Augmentation(self.device)
        self._resume()

    def run(self) -> None:
        self._wait_for_clips()
        self.began_at = self.began_at if self.step else time.time()
        self.model.train()
        running = torch.zeros(2, device=self.device)
        said, at = time.time(), self.step
        for examples in self._examples():
            loss, drift = self._learn(examples)
            running += 0.02 * (torch.stack([loss, drift]) - running)
            self.step += 1
            if self.step in (10, 100) or self.step % 250 == 0:
                pace = (self.step - at) / (time.time() - said)
                print(
                    f"step {self.step}: loss {running[0].item():.4f}, drift {running[1].item():.4f},"
                    f" {pace:.1f} steps a second, {len(self.pool)} clips ({self.pool.hours:.1f} h),"
                    f" {self.given.ends_at - time.time():.0f} s left",
                    flush=True,
                )
                said, at = time.time(), self.step
            if self.step % self.given.point_every == 0:
                self._point()
                said, at = time.time(), self.step
        if self.step % self.given.point_every:
            self._point()
        (self.given.out / "finished").write_text(str(self.step), "utf-8")
        print(f"finished after {self.step} steps", flush=True)

    def _examples(self) -> Iterator[list[Example]]:
        while True:
            self._take_in()
            for batch in self.pool.batches(
                min(EXAMPLES_AHEAD, self.given.batch * 100), self.given.batch, self.chance
            ):
                if time.time() >= self.given.ends_at or self.step >= self.given.steps:
                    return
                yield batch

    def _learn(self, examples: list[Example]) -> tuple[Tensor, Tensor]:
        for group in self.optimiser.param_groups:
            group["lr"] = self._rate()
        batch = self.pool.batch(examples)
        talk = development.babble(self.pool, examples, batch, self.chance)
        samples = self.change(batch.samples, batch.lengths, batch.spoken, talk)
        with half_precision(self.device):
            scores = self.model(samples, batch.lengths, batch.tokens)
            drift = self._drift()
        loss = functional.cross_entropy(
            scores.float().flatten(0, 1),
            batch.targets.flatten(),
            ignore_index=IGNORED,
            label_smoothing=SMOOTHING,
        )
        self.optimiser.zero_grad(set_to_none=True)
        (loss + HOLD * drift).backward()  # type: ignore[no-untyped-call]
        torch.nn.utils.clip_grad_norm_(self.learning, 1.0)
        self.optimiser.step()
        return loss.detach(), drift.detach()

    def _drift(self) -> Tensor:
        """How far the encoder is from the untuned one, on clean general English."""
        if len(self.held) < HELD_EXAMPLES:
            return torch.zeros((), device=self.device)
        clips = self.chance.sample(self.held, HELD_EXAMPLES)
        batch = self.pool.batch([Example((clip,), (0.2 * RATE, 0.3 * RATE)) for clip in clips])
        with torch.no_grad():
            before, _ = self.untuned(batch.samples, batch.lengths)
        now, inside = self.model.encoder(batch.samples, batch.lengths)
        weight = inside[..., None].float()
        return ((now.float() - before.float()).square() * weight).sum() / (
            before.float().square() * weight
        ).sum()

    def _rate(self) -> float:
        done = (time.time() - self.began_at) / max(1.0, self.given.ends_at - self.began_at)
        done = max(done, self.step / self.given.steps)
        warm = min(1.0, (self.step + 1) / WARMING_STEPS)
        return float(self.given.peak * warm * 0.5 * (1 + math.cos(math.pi * min(1.0, done))))

    def _wait_for_clips(self) -> None:
        while True:
            self._take_in()
            if len(self.pool) >= self.given.first_clips or time.time() > self.given.ends_at:
                return
            time.sleep(2)

    def _take_in(self) -> None:
        self.pool.take_in(self.given.clips)
        for clip in range(self._looked_at, len(self.pool)):
            if self.pool.row(clip).kind in HELD_KINDS:
                self.held.append(clip)
        self._looked_at = len(self.pool)

    def _point(self) -> None:
        """Keeps the weights, judged, and all that is needed to go on."""
        folder = self.given.clips / "development"
        files = len(list(folder.glob("*.npz")))
        if files != self._development_files:  # some voices may have come only now
            rows = read_rows(self.given.work / "development.json.gz")
            self.heard, self._development_files = development.made(folder, rows, self.device), files
        figures = development.judged(self.model, self.heard)
        save_point(self.given.out / f"point_{self.step:06d}", self.model)
        with (self.given.out / "points.jsonl").open("a", encoding="utf-8") as file:
            file.write(json.dumps({"step": self.step, "clips": len(self.pool), **figures}) + "\n")
        print(f"point {self.step}: {json.dumps(figures)}", flush=True)
        state = {
            "step": self.step, "began_at": self.began_at, "model": self.model.state_dict(),
            "optimiser": self.optimiser.state_dict(), "chance": self.chance.getstate(),
        }  # fmt: skip
        unfinished = self.given.out / "state.tmp"
        torch.save(state, unfinished)
        unfinished.replace(self.given.out / "state.pt")

    def _resume(self) -> None:
        self.given.out.mkdir(parents=True, exist_ok=True)
        path = self.given.out / "state.pt"
        if not path.exists():
            return
        state = torch.load(path, map_location=self.device, weights_only=False)
        self.step, self.began_at = state["step"], state["began_at"]
        self.model.load_state_dict(state["model"])
        self.optimiser.load_state_dict(state["optimiser"])
        self.chance.setstate(state["chance"])
        print(f"going on from step {self.step}", flush=True)


def main(arguments: list[str]) -> None:
    Learning(parsed(arguments)).run()


if __name__ == "__main__":
    main(sys.argv[1:])
