"""Hearing by likelihood: how probable is each sentence of the domain, given the audio?

A small speech model is not asked to write down what it heard, which would come out as general English ('to
eight for'), but how likely each sentence of the drill's phraseology is. In the order of the data: `model` runs
the network, `tokeniser` and `spelling` say how the network writes a word, `automaton` holds every sentence of
the domain and `writing` every way to write it down, `search` finds the likeliest, `twins` looks for close rivals
that the search may have dropped, `engine` puts it together.
"""
