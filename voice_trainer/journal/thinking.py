"""How long a student may think in the middle of a call, in seconds."""

from __future__ import annotations

THINKING_SECONDS = 2.2
"""How long after what may go on its rest may begin (ours)."""

SHORTEST_THINKING, LONGEST_THINKING = 0.6, 6.0
"""Less is the quiet that ends every utterance."""
