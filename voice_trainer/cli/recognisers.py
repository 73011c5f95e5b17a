"""The recogniser of a command: chosen among what is installed, its model held against what was recorded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from voice_trainer.archive.places import data_folder, models_folders

if TYPE_CHECKING:
    from voice_trainer.recognition.ports import Recogniser


def recogniser_called(name: str) -> Recogniser:
    """The recogniser called `name`, see `choose_recogniser`."""
    from voice_trainer.archive.onnxruntime_reports import remove_reports_of_onnxruntime
    from voice_trainer.recognition.choosing import choose_recogniser

    remove_reports_of_onnxruntime()
    return choose_recogniser(name, models_folders(), _recorded_hash)


def _recorded_hash(folder: Path) -> str | None:
    from voice_trainer.models.records import Records

    record = Records(data_folder()).installed(folder)
    return record.content_hash if record else None
