"""Chooses among the points of a training, their means, and shares with the untuned model: by the development set.

    python -m scripts.train.choose WORK CLIPS POINTS TO

TO gets the weights that were chosen (w0.npz, …), figures.json with what every candidate came to, and wrong.json with
sentences that the chosen one writes otherwise.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import torch

from scripts.train import development
from scripts.train.moonshine import loaded
from scripts.train.packed_numbers import unpack
from scripts.train.points import Weights, between, mean, put, read_weights, save_weights
from scripts.train.rows import read_rows

SHARES = (1.0, 0.92, 0.85)
LAST = (2, 4, 6)
"""Means of so many points at the end."""
BEST = 3
WITHIN = 0.003
"""A candidate nearer to the untuned model is taken where it is no more than this worse: people are not unlearnt."""


def main(arguments: list[str]) -> None:
    work, clips, points, to = map(Path, arguments)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    untuned = unpack(work / "start.npz.xz")
    model = loaded(untuned).to(device)
    heard = development.made(clips / "development", read_rows(work / "development.json.gz"), device)
    figures: dict[str, dict[str, float]] = {"untuned": development.judged(model, heard)}
    candidates = {
        f"{name} at {share}": between(untuned, weights, share)
        for name, weights in _sources(points).items()
        for share in SHARES
    }
    for name, weights in candidates.items():
        put(model, weights)
        figures[name] = development.judged(model, heard)
        print(name, json.dumps(figures[name]), flush=True)
    best = max(figures[name]["all"] for name in candidates)
    near = [name for name in candidates if figures[name]["all"] >= best - WITHIN]
    chosen = min(near, key=lambda name: (float(name.rsplit(" ", 1)[1]), -figures[name]["all"]))
    save_weights(to, candidates[chosen])
    put(model, candidates[chosen])
    (to / "figures.json").write_text(
        json.dumps({"chosen": chosen, "development": figures}, indent=1), "utf-8"
    )
    (to / "wrong.json").write_text(json.dumps(development.examples_of(model.eval(), heard)), "utf-8")
    print(f"chosen: {chosen}", flush=True)


def _sources(points: Path) -> dict[str, Weights]:
    """Points and means of points that may be the best."""
    lines = (points / "points.jsonl").read_text("utf-8").splitlines()
    judged = [one for line in lines if "all" in (one := json.loads(line))]
    folders = {one["step"]: points / f"point_{one['step']:06d}" for one in judged}
    steps = sorted(folders)
    best = sorted({one["step"]: one["all"] for one in judged}.items(), key=lambda one: -one[1])[:BEST]
    sources = {f"step {steps[-1]}": read_weights(folders[steps[-1]])}
    if len(steps) > 1:
        sources |= {f"step {best[0][0]}": read_weights(folders[best[0][0]])}
        sources |= {f"the best {len(best)}": mean(read_weights(folders[step]) for step, _ in best)}
    for count in LAST:
        if len(steps) >= count:
            sources[f"the last {count}"] = mean(read_weights(folders[step]) for step in steps[-count:])
    return sources


if __name__ == "__main__":
    main(sys.argv[1:])
