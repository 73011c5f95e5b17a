"""Phraseology: between what is meant and the words that say it. Pure: no clock, device, file or network.

A map of the room, from the words up:

- `nodes`: the five shapes of everything that can be said. `automaton` reads words along them.
- `normaliser`: any text to the plain words used inside (nine, not niner).
- `slots`: `slot_type(name)` for every type of value (listed in `registry`), `regions` the wording that is
  recommended; `forms` and `numerals` are what the types are made of:
  `directions`, `heights`, `rates`, `frequencies`, `pressures`, `codes`, `durations`, `clock_times`, `winds`,
  `quantities`, `power`, `pitch`, `flaps`, `airways`, `fixes`, `callsigns` (and `callsign_rules`, short forms).
- `opposites`: words that must never be taken for each other; they are slots too.
- `pattern`: `compile_pattern`, what a call may sound like (`pattern_text`, `parser`, `rendering` below it).
- `grammar`: all phrases of a drill, and the reader that cuts an utterance into them. `trade`: the phrases
  that are in every drill.
- `speaking`: cue text to what a voice is given.
"""
