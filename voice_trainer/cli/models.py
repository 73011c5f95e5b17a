"""`voice-trainer models`: what is installed and what can be fetched; add, fetch, remove."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from rich.text import Text

from voice_trainer.archive.places import data_folder, models_folders
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console
from voice_trainer.models.errors import ModelError
from voice_trainer.models.installing import (
    InstalledModel,
    checked_name,
    install,
    installed_models,
    models_folder_for_writing,
    remove,
)
from voice_trainer.models.published import PublishedModel, find_published, published_models
from voice_trainer.models.records import Records
from voice_trainer.models.sources import source_at
from voice_trainer.recognition.vosk_folder import is_english
from voice_trainer.unpacking.errors import in_units

if TYPE_CHECKING:
    from voice_trainer.models.fetching import Progress


def models(options: argparse.Namespace) -> int:
    """Do what was asked for; without a word, list."""
    match options.action:
        case "add":
            return add_model(options.source, options.name, in_checkout=options.in_checkout)
        case "fetch":
            return fetch_model(options.name, options.url, in_checkout=options.in_checkout)
        case "remove":
            return remove_model(options.name)
        case _:
            return list_models()


def list_models() -> int:
    """Print what is installed, then what can be fetched. Nothing is asked of the network."""
    out = console()
    installed = installed_models(models_folders(), Records(data_folder()))
    out.print(Text("Installed", style="bold"))
    for model in installed:
        size = in_units(model.size_bytes)
        out.print(Text.assemble("  ", (model.path.name, "bold"), f"  {size}, {model.path.parent}"))
        out.print(Text(f"      {as_typed_here(state_of(model))}", style="yellow" if model.trouble else "dim"))
    if not installed:
        out.print("  none; the recognisers that come with the program need none", markup=False)
    out.print()
    out.print(Text("To be fetched, on request", style="bold"))
    names = {model.path.name for model in installed}
    for each in published_models():
        out.print(
            Text.assemble(
                "  ",
                (each.name, "bold"),
                f"  {each.language}, {each.publisher}, about {each.about_megabytes} MB, {each.licence}",
            )
        )
        how = "installed" if each.name in names else as_typed_here(f"voice-trainer models fetch {each.name}")
        out.print(Text(f"      {how}", style="dim"))
    out.print()
    says = as_typed_here("'voice-trainer doctor' says which recogniser is taken; --engine forces one.")
    out.print(says, markup=False)
    return 0


def state_of(model: InstalledModel) -> str:
    """How a model is, and how it is used, in a line."""
    name = model.path.name
    if model.trouble and model.recorded:
        return f"{model.trouble}; 'voice-trainer models remove {name}', then install it again"
    if model.trouble:
        return model.trouble
    known = "as it was installed" if model.recorded else "put there by hand: no checksum is known"
    forced = "--engine vosk" if is_english(name) else f"not for English by its name: --engine vosk:{name}"
    return f"{known}; {forced}"


def add_model(source: Path, name: str | None, *, in_checkout: bool) -> int:
    """Install a model from a folder or a ZIP archive."""
    found = source_at(source)
    chosen = checked_name(name or found.own_name)
    folder, records = _target(in_checkout), Records(data_folder())
    _refuse_second(chosen, records)
    with models_folder_for_writing(folder):
        place = install(found, chosen, folder, records, origin=str(source.absolute()))
    _say_installed(place, records)
    return 0


def fetch_model(name: str, url: str | None, *, in_checkout: bool) -> int:
    """Fetch a published model and install it; nothing happens where it is installed already."""
    from voice_trainer.models.getting import get_model

    model, folder, records = find_published(name), _target(in_checkout), Records(data_folder())
    out = console()
    present = _present(name, records)
    if present is not None and not present.trouble:
        out.print(f"{name} is installed already, in {present.path}.", markup=False)
        return 0
    _refuse_second(name, records)
    source = url or model.url
    out.print(_announcement(model, source), markup=False)
    with progress_bar(name) as told:
        place, archive, known = get_model(model, source, folder, records, told)
    checked = "the same as when it was first fetched" if known else "recorded; it is checked from now on"
    out.print(f"SHA-256 {archive.sha256}: {checked}.", markup=False)
    _say_installed(place, records)
    return 0


def remove_model(name: str) -> int:
    """Take an installed model away."""
    place = remove(name, models_folders(), Records(data_folder()))
    console().print(f"Removed {place}.", markup=False)
    return 0


@contextmanager
def progress_bar(name: str) -> Iterator[Progress]:
    """A bar on standard error, where that is a terminal."""
    from rich import progress

    out = console(to_stderr=True)
    columns = (
        progress.TextColumn("{task.description}", markup=False),
        progress.BarColumn(),
        progress.DownloadColumn(),
        progress.TransferSpeedColumn(),
        progress.TimeRemainingColumn(),
    )
    with progress.Progress(*columns, console=out, disable=not out.is_terminal) as bar:
        task = bar.add_task(name, total=None)
        yield lambda have, total: bar.update(task, completed=have, total=total)


def _announcement(model: PublishedModel, url: str) -> str:
    return (
        f"Fetching {model.name} of {model.publisher} (about {model.about_megabytes} MB, {model.licence}) "
        f"from {urlsplit(url).hostname}."
    )


def _target(in_checkout: bool) -> Path:
    """The user's models folder, or that of the checkout."""
    users, *checkouts = models_folders()
    if not in_checkout:
        return users
    if not checkouts:
        raise UsageError("--in-checkout: the program does not run from a checkout; leave the option out")
    return checkouts[0]


def _present(name: str, records: Records) -> InstalledModel | None:
    return next((m for m in installed_models(models_folders(), records) if m.path.name == name), None)


def _refuse_second(name: str, records: Records) -> None:
    present = _present(name, records)
    if present is None:
        return
    state = present.trouble or "installed already"
    advice = f"run 'voice-trainer models remove {name}' first" if present.recorded else "move it away first"
    raise ModelError(f"{present.path}: {state}; {advice}")


def _say_installed(place: Path, records: Records) -> None:
    (model,) = (m for m in installed_models([place.parent], records) if m.path == place)
    out = console()
    out.print(f"Installed {place} ({in_units(model.size_bytes)}).", markup=False)
    if is_english(place.name):
        says = "--engine vosk hears with it; 'voice-trainer doctor' says what is taken otherwise."
        out.print(as_typed_here(says), markup=False)
    else:
        out.print(
            f"It is not for English by its name: --engine vosk:{place.name} hears with it.", markup=False
        )
