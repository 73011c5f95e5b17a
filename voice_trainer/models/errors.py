"""What can go wrong with models, as one line for the user."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from voice_trainer.unpacking.errors import UnpackingError, UntrustedError, refusal_of_the_disk


class ModelError(Exception):
    """A model that can't be fetched, installed or removed: one line that says what, where and what to do."""


class SourceError(ModelError):
    """What a model was to be installed from is no model, is damaged, or is not to be trusted."""


def of_the_disk(path: Path, error: OSError) -> ModelError:
    """What the operating system refused while `path` was written."""
    return ModelError(refusal_of_the_disk(path, error))


@contextmanager
def as_of_models() -> Iterator[None]:
    """What unpacking complains of is said of a model."""
    try:
        yield
    except UntrustedError as error:
        raise SourceError(str(error)) from error
    except UnpackingError as error:
        raise ModelError(str(error)) from error
