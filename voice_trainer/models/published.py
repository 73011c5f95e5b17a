"""The models that can be fetched by name: `published.yaml`."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import yaml
from pydantic import BaseModel, ConfigDict, Field

from voice_trainer.library.wording import listed, nearest
from voice_trainer.models.errors import ModelError
from voice_trainer.unpacking.errors import shown

MANIFEST = Path(__file__).parent / "published.yaml"


class PublishedModel(BaseModel):
    """A model that somebody publishes: a ZIP archive of one folder."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    name: str = Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")
    language: str
    publisher: str
    url: str = Field(pattern=r"^https://")
    about_megabytes: int = Field(gt=0)
    at_most_megabytes: int = Field(gt=0)
    licence: str
    """An SPDX identifier, as the publisher states it."""


class _Manifest(BaseModel):
    model_config = ConfigDict(extra="forbid")

    models: list[PublishedModel]


@cache
def published_models() -> tuple[PublishedModel, ...]:
    """All of them, in the order of the file."""
    data = yaml.safe_load(MANIFEST.read_text(encoding="utf-8"))
    return tuple(_Manifest.model_validate(data).models)


def find_published(name: str) -> PublishedModel:
    """The one of that name. Raises ModelError, with the nearest name."""
    models = {model.name: model for model in published_models()}
    if name in models:
        return models[name]
    likely = nearest(name, models)
    advice = f"did you mean '{likely}'?" if likely else f"known is {listed(models)}"
    raise ModelError(
        f"{shown(name)}: no model of this name can be fetched; {advice} (for one that you have: models add)"
    )
