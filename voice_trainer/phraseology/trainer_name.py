"""What the trainer is called, where nobody gave it another name."""

from __future__ import annotations

TRAINER_NAME = "trainer"
