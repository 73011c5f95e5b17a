"""An approach or a hold as data, and the drill that follows from it for one wind and one aeroplane. Pure."""
