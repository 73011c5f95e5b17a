"""`voice-trainer privacy`: what is kept, and the choice of what sound may be; asked once, at a terminal."""

from __future__ import annotations

import sys
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.consent_file import consent_of_today, read_consent, write_consent
from voice_trainer.archive.instructor_consent_file import read_agreements
from voice_trainer.archive.places import (
    consent_path,
    instructor_consent_path,
    journals_folder,
    kept_sessions,
    profile_path,
)
from voice_trainer.archive.session_files import sound_folder
from voice_trainer.cli.terminal import console, shown
from voice_trainer.journal.keep import KEEPS, Keep
from voice_trainer.phraseology.yes_and_no import yes_or_no
from voice_trainer.session.kept_sound import prune_leftovers

MEANING: dict[Keep, str] = {
    "none": "no sound is kept",
    "disputed": "the sound of utterances that you dispute, or that could not be made out, is kept",
    "calls": "the sound of every call is kept, and of what you dispute or could not be made out",
    "all": "the sound of whole sessions is kept, with all that is said between calls",
}
QUESTION = (
    "May sound of your sessions be kept on this machine, for you to hear again or to show to an instructor? "
    "Nothing is sent anywhere. 'voice-trainer privacy' changes it, 'voice-trainer forget' removes it."
)


def privacy(keep: Keep | None) -> int:
    """Show the choice and what there is, after having changed it where `keep` is given. Raises ArchiveError."""
    out = console()
    if keep is not None:
        write_consent(consent_path(), consent_of_today(keep))
    for line in prune_leftovers(journals_folder(), kept_by_choice()):
        out.print(line, markup=False)
    consent = read_consent(consent_path())
    chosen = f"chosen {consent.chosen_utc[:10]}" if consent else "nothing was chosen yet"
    choice = consent.keep if consent else "none"
    out.print(f"Sound: {choice} ({chosen}): {MEANING[choice]}.", markup=False)
    sessions = kept_sessions()
    folder = journals_folder()
    with_sound = [name for name in sessions if sound_folder(folder / f"{name}.jsonl").is_dir()]
    files = [path for name in with_sound for path in sound_folder(folder / f"{name}.jsonl").iterdir()]
    megabytes = sum(path.stat().st_size for path in files) / 1e6
    out.print(
        f"Sessions: {len(sessions)} in {folder}, {len(with_sound)} of them with sound ({megabytes:.1f} MB).",
        markup=False,
    )
    out.print(f"Profile: {profile_path() if profile_path().exists() else 'none'}.", markup=False)
    agreed = read_agreements(instructor_consent_path())
    names = ", ".join(f"{shown(each.student)} ({each.agreed_utc[:10]})" for each in agreed)
    out.print(f"An instructor's view: {f'agreed: {names}' if names else 'nobody has agreed'}.", markup=False)
    if choice == "none" and with_sound:
        out.print("What was kept before stays until 'voice-trainer forget' removes it.", markup=False)
    return 0


def kept_by_choice() -> Keep:
    """What may be kept, 'none' where nothing was chosen. Raises ArchiveError."""
    consent = read_consent(consent_path())
    return consent.keep if consent else "none"


def settle_sound(out: Console, source: str, journal: Path | None = None, *, ask: bool = True) -> Keep:
    """Before a session: prune what older ones left, ask whoever has not been asked yet, and say what will be kept.

    `source` is who will be listened to, `journal` where the journal goes if not into the data folder. Only a person
    at a microphone and a terminal is asked, and without `ask` nobody. Raises ArchiveError.
    """
    keep = kept_by_choice()
    folders = {journals_folder(), *([journal.absolute().parent] if journal else [])}
    for folder in sorted(folders):
        for line in prune_leftovers(folder, keep):
            out.print(line, markup=False)
    if ask and source == "mic" and sys.stdin.isatty() and read_consent(consent_path()) is None:
        keep = _ask(out)
        write_consent(consent_path(), consent_of_today(keep))
    if keep != "none" and source != "typed":
        out.print(f"Kept when it is over: {keep} ({MEANING[keep]}).", style="dim", markup=False)
    return keep


def _ask(out: Console) -> Keep:
    out.print(QUESTION, markup=False)
    for keep in KEEPS:
        out.print(f"  {keep:<9} {MEANING[keep]}", markup=False)
    for _ in range(3):
        try:
            answer = out.input("Which? [none] ", markup=False).strip().lower()
        except EOFError:
            break
        if not answer or yes_or_no(answer) == "no":
            break
        chosen = next((keep for keep in KEEPS if keep == answer.removeprefix("keep ")), None)
        if chosen is not None:
            return chosen
    return "none"
