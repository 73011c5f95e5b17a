"""The aeroplane of a flown drill, and the arithmetic of the trade that it obeys.

Simplifications, stated once: the earth is flat, every direction is magnetic and there is no variation, the
air is at standard density so that indicated and true airspeed are one, the wind is the same at every height,
and turns are coordinated. Positions are nautical miles east and north of wherever the drill puts its origin.

The modules not named here are arithmetic and data of the trade, with sources; where sources differ, a rule is a
setting. What they know beyond the simplifications (slant range, a round earth, other air, variation) serves
plans; the aeroplane flies without them. `aeroplane` moves; `commands` turns what was heard into targets;
`detectors` turns movement into named events; `flight` puts the four together.
"""
