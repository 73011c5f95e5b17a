"""From what was heard to verdicts and scores. Pure: live and afterwards it is the same function."""
