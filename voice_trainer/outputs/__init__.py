"""Files that are written where somebody said: of which kind, over what, whole or not at all.

Theory of operation
-------------------
One rule for all of them. What can be made anew from something else (a page, a card, a track) says inside what made
it, and is written over an older one of the same kind: nothing is lost with that. Over anything else nothing is ever
written: not over a file of another kind, nor of somebody else, and not over what can't be made again or may have been
changed by its owner since (a drill, a recording, a journal). `kinds` says which is which, `checking` finds it out
before any work is done, `writing` looks again when the work is done, and `refusals` says what a disk's refusal means.

A recording and a journal grow while a session runs, and are whole at every moment: `audio.wav` and
`archive.journal_file` write them, where `checking` lets them be.
"""
