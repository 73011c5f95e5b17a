"""One engine for the session: the model takes a while to load."""

from __future__ import annotations

import pytest
from spoken_calls import CALLS, grammar_of

from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser


@pytest.fixture(scope="session")
def recogniser() -> LikelihoodRecogniser:
    """Prepared for `CALLS`; tests that want another grammar make an engine of their own."""
    engine = LikelihoodRecogniser(threads=1)
    engine.prepare(grammar_of(*CALLS), {})
    return engine


@pytest.fixture(scope="session")
def other_engine() -> LikelihoodRecogniser:
    """For tests that prepare grammars of their own."""
    return LikelihoodRecogniser(threads=1)
