"""What somebody else packed: checked before a byte is written, counted while it is, and there whole or not at all.

Shared by all that installs folders and ZIP archives. Nothing in an archive is believed, and nothing is executed.
"""
