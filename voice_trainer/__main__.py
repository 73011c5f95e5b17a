"""`python -m voice_trainer`."""

from voice_trainer.cli.main import entry

entry()
