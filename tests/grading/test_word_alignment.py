"""Alignment totals against jiwer and NIST sclite (Debian `sctk`), on agreed vectors.

The vectors were run through both programs; sclite weighs edits 4/3/3 (NIST SCTK, doc/sclite.htm), so totals
are compared, not the split into substitutions, deletions and insertions.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import jiwer
import pytest

from voice_trainer.grading.alignment import align

VECTORS = [
    # reference, hypothesis, errors and word error rate by both programs
    (
        "fly heading zero four zero maintain two thousand until established",
        "fly heading zero for zero maintain two thousand established",
        2,
        0.20,
    ),
    ("time turn time transition twist talk", "time turn transition time twist talk", 2, 0.3333),
    (
        "gear down flaps set landing checklist complete",
        "flaps set gear down landing checklist complete",
        4,
        0.5714,
    ),
    ("a b c d", "b x a d", 3, 0.75),
]


@pytest.mark.parametrize(("reference", "hypothesis", "errors", "rate"), VECTORS)
def test_totals_agree_with_jiwer(reference: str, hypothesis: str, errors: int, rate: float) -> None:
    ours = align(reference.split(), hypothesis.split())
    theirs = jiwer.process_words(reference, hypothesis)
    assert ours.errors == errors == theirs.substitutions + theirs.deletions + theirs.insertions
    assert ours.word_error_rate == pytest.approx(theirs.wer)
    assert ours.word_error_rate == pytest.approx(rate, abs=1e-4)


def test_the_documented_examples_of_jiwer() -> None:
    assert align(["hello", "world"], ["hello", "duck"]).word_error_rate == 0.5


def sclite() -> str:
    found = shutil.which("sclite") or shutil.which("/usr/lib/sctk/bin/sclite")
    assert found, "sclite is missing: apt-get install sctk (scripts/test does)"
    return found


@pytest.mark.slow
@pytest.mark.parametrize(("reference", "hypothesis", "errors", "rate"), VECTORS)
def test_totals_agree_with_sclite(
    reference: str, hypothesis: str, errors: int, rate: float, tmp_path: Path
) -> None:
    (tmp_path / "ref").write_text(f"{reference} (a_1)\n")
    (tmp_path / "hyp").write_text(f"{hypothesis} (a_1)\n")
    out = subprocess.run(
        [sclite(), "-r", "ref", "trn", "-h", "hyp", "trn", "-i", "rm", "-o", "pralign", "stdout"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    scores = next(line for line in out.splitlines() if line.startswith("Scores:"))
    correct, substituted, deleted, inserted = (int(n) for n in scores.split()[-4:])
    theirs = substituted + deleted + inserted
    ours = align(reference.split(), hypothesis.split())
    assert ours.errors == errors == theirs
    assert theirs / (correct + substituted + deleted) == pytest.approx(rate, abs=1e-4)
