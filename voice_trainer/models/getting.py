"""A published model from its address to its place: fetched, held against its checksum, installed."""

from __future__ import annotations

from pathlib import Path

from voice_trainer.archive.private_folder import private_folder
from voice_trainer.models.errors import ModelError, SourceError, of_the_disk
from voice_trainer.models.fetching import Progress, checked_url, discard, fetch, sha256_of
from voice_trainer.models.installing import DOWNLOADS, install, models_folder_for_writing
from voice_trainer.models.published import PublishedModel
from voice_trainer.models.records import ArchiveRecord, Records, now_utc
from voice_trainer.models.sources import source_at


def get_model(
    model: PublishedModel, url: str, models_folder: Path, records: Records, on_progress: Progress
) -> tuple[Path, ArchiveRecord, bool]:
    """Fetch `model` from `url` and install it: its folder, its archive, and whether that was known before.

    The first archive of a name is believed, since it came by https from the publisher, and it is recorded once
    it has proved to be a model; every later one must be the same. Raises ModelError: no part of the model is
    there then. What was fetched of a good archive stays for the next try, a bad one is deleted.
    """
    checked_url(url)
    with models_folder_for_writing(models_folder):
        try:
            part = private_folder(models_folder / DOWNLOADS) / f"{model.name}.zip.part"
        except OSError as error:
            raise of_the_disk(models_folder, error) from error
        fetch(url, part, model.at_most_megabytes * 1_000_000, on_progress)
        archive = ArchiveRecord(
            sha256=sha256_of(part), size_bytes=part.stat().st_size, url=url, first_fetched_utc=now_utc()
        )
        known = records.archive(model.name)
        if known is not None and known.sha256 != archive.sha256:
            discard(part)
            raise ModelError(
                f"{model.name}: nothing was installed, since this archive is not the one of "
                f"{known.first_fetched_utc[:10]}: its SHA-256 begins {archive.sha256[:12]}, not {known.sha256[:12]}; "
                f"if its publisher says that it was replaced, delete it from 'archives' in {records.path}"
            )
        try:
            place = install(source_at(part), model.name, models_folder, records, origin=url, archive=archive)
        except SourceError:
            discard(part)
            raise
        discard(part)
    return place, known or archive, known is not None
