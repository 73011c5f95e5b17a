"""Recognisers' models on disk: the published list, fetching, unpacking, installing. Files and the network.

Nothing here runs unless the user asks for it by name, and nothing that comes from outside is believed: not
the length that a server states, not the sizes and names in an archive. A model is there whole or not at all.
"""
