"""One run of a drill: devices, voices, recogniser, sequencer and journal, wired together. The only threads."""
