"""The aeroplane of a flown drill, and the arithmetic of the trade that it obeys.

Simplifications, stated once: the earth is flat, every direction is magnetic and there is no variation, the
air is at standard density so that indicated and true airspeed are one, the wind is the same at every height,
and turns are coordinated. Positions are nautical miles east and north of wherever the drill puts its origin.

`courses`, `turns`, `wind`, `timing`, `vor`, `sixty_to_one`, `leads`, `procedure_turn` and `holding` are pure
arithmetic; `aeroplane` moves; `commands` turns what was heard into targets; `detectors` turns movement into
named events; `flight` puts these together.
"""
