"""Hearing by likelihood: how probable is each sentence of the domain, given the audio?

A small speech model of our own writes what it hears in plain words. Where that is a sentence of the drill's
phraseology, and no other is near, it was heard; otherwise the likeliest of all such sentences are searched for. In the
order of the data: `trimming` finds the speech, `model_files` and `model` have and run the network, `tokeniser` says how
it writes a word and `writing` how it writes every sentence of the domain, `search` writes freely and finds the
likeliest sentences, `meanings` pools what means the same, `thresholds` says how clear that is, `placing` when each word
was said, `engine` puts it together. `spelled_words` is for authors: how hard a name is.
"""
