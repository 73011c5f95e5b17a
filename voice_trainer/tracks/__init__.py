"""Audio tracks for listening without a screen and without a microphone: cue, gap, right answer."""
