"""How a word sounds that no dictionary has: letter-to-sound, in the 39 phones of the CMU dictionary.

In this order: what the trade says of the word (`TRADE_PRONUNCIATIONS`), what espeak-ng makes of it, and, where
that program is missing, a few spelling rules. A made-up pronunciation is a guess; a drill can give its own.
"""

from __future__ import annotations

import functools
import shutil
import subprocess
from collections.abc import Mapping

from voice_trainer.phraseology.phones import ARPABET
from voice_trainer.recognition.errors import RecogniserError

TRADE_PRONUNCIATIONS: Mapping[str, tuple[str, ...]] = {
    # The digits as AIM table 4-2-2 and ICAO Annex 10 volume II 5.2.1.4.3.1 want them said, and 'oh' for zero;
    # the dictionary has how everybody says them.
    "zero": ("OW",),
    "three": ("T R IY",),
    "four": ("F OW ER",),
    "five": ("F AY F",),
    "nine": ("N AY N ER",),
    "thousand": ("T AW Z AH N D",),
    # Common practice. Where two are given, both are heard among pilots.
    "abeam": ("AH B IY M",),
    "adf": ("EY D IY EH F",),
    "annunciator": ("AH N AH N S IY EY T ER",),
    "crosscheck": ("K R AO S CH EH K",),
    "crosschecked": ("K R AO S CH EH K T",),
    "crossfeed": ("K R AO S F IY D",),
    "da": ("D IY EY",),
    "dh": ("D IY EY CH",),
    "dme": ("D IY EH M IY",),
    "glideslope": ("G L AY D S L OW P",),
    "hectopascals": ("HH EH K T OW P AE S K AH L Z", "HH EH K T AH P AE S K AH L Z"),
    "ils": ("AY EH L EH S",),
    "juliett": ("JH UW L IY EH T",),
    "localiser": ("L OW K AH L AY Z ER",),
    "localizer": ("L OW K AH L AY Z ER",),
    "magneto": ("M AE G N IY T OW",),
    "magnetos": ("M AE G N IY T OW Z",),
    "mda": ("EH M D IY EY",),
    "millibars": ("M IH L AH B AA R Z",),
    "navaid": ("N AE V EY D",),
    "ndb": ("EH N D IY B IY",),
    "pitot": ("P IY T OW",),
    "qnh": ("K Y UW EH N EY CH",),
    "readback": ("R IY D B AE K",),
    "rnav": ("AA R N AE V",),
    "selector": ("S AH L EH K T ER",),
    "tachometer": ("T AE K AA M AH T ER",),
    "teardrop": ("T IH R D R AA P",),
    "vdp": ("V IY D IY P IY",),
    "vor": ("V IY OW AA R",),
    "wilco": ("W IH L K OW",),
    "xray": ("EH K S R EY",),
}
"""What pilots say of words that the dictionary inside the pocketsphinx wheel lacks, or has otherwise."""

# The phonemes of espeak-ng's en-us voice in the International Phonetic Alphabet, to ARPAbet. The longest match
# wins. An alveolar tap stands for a T or a D: the dictionary writes T in 'pitot' and 'heater'.
_IPA = {
    "aɪɚ": "AY ER", "aɪə": "AY AH", "aɪ": "AY", "aʊ": "AW", "eɪ": "EY", "oʊ": "OW", "əʊ": "OW", "ɔɪ": "OY",
    "iə": "IY AH", "ɪə": "IH AH", "ʊə": "UH AH", "eə": "EH", "tʃ": "CH", "dʒ": "JH", "n̩": "AH N", "l̩": "AH L",
    "m̩": "AH M", "əl": "AH L", "ɑ̃": "AA N", "ɔ̃": "AO N", "ɛ̃": "AE N",
    "ɑ": "AA", "ɒ": "AA", "æ": "AE", "a": "AE", "ʌ": "AH", "ə": "AH", "ɐ": "AH", "ɔ": "AO", "o": "AO", "ɛ": "EH",
    "e": "EH", "ɚ": "ER", "ɜ": "ER", "ɝ": "ER", "ɪ": "IH", "ᵻ": "IH", "i": "IY", "y": "UW", "ʊ": "UH", "u": "UW",
    "b": "B", "d": "D", "ð": "DH", "f": "F", "ɡ": "G", "g": "G", "h": "HH", "ç": "HH", "k": "K", "x": "K", "q": "K",
    "l": "L", "ɫ": "L", "ɬ": "L", "m": "M", "n": "N", "ɲ": "N Y", "ŋ": "NG", "p": "P", "ɹ": "R", "r": "R",
    "ʁ": "R", "s": "S", "ʃ": "SH", "t": "T", "ɾ": "T", "ʔ": "T", "θ": "TH", "v": "V", "w": "W", "ʍ": "W",
    "j": "Y", "z": "Z", "ʒ": "ZH",
}  # fmt: skip
_LONGEST_IPA = max(map(len, _IPA))
_MARKS = "ˈˌː ‿‖|-̪̃\u200d\n"
"""Stress, length, pauses: nothing that ARPAbet writes."""

# Only what it takes to be heard at all where espeak-ng is missing.
_LETTERS = {
    "tion": "SH AH N", "ough": "AO", "eigh": "EY", "augh": "AO", "sch": "S K", "tch": "CH", "dge": "JH",
    "igh": "AY", "ear": "IH R", "air": "EH R", "oar": "AO R", "our": "AW R", "eer": "IH R",
    "ch": "CH", "sh": "SH", "th": "TH", "ph": "F", "wh": "W", "ck": "K", "ng": "NG", "qu": "K W", "gh": "G",
    "ee": "IY", "ea": "IY", "oo": "UW", "ou": "AW", "ow": "OW", "oa": "OW", "ai": "EY", "ay": "EY", "oi": "OY",
    "oy": "OY", "au": "AO", "aw": "AO", "ie": "IY", "ei": "EY", "ew": "Y UW", "er": "ER", "ir": "ER", "ur": "ER",
    "or": "AO R", "ar": "AA R", "kn": "N", "wr": "R", "ce": "S EH", "ci": "S IH", "cy": "S IY", "ge": "JH EH",
    "a": "AE", "b": "B", "c": "K", "d": "D", "e": "EH", "f": "F", "g": "G", "h": "HH", "i": "IH", "j": "JH",
    "k": "K", "l": "L", "m": "M", "n": "N", "o": "AA", "p": "P", "q": "K", "r": "R", "s": "S", "t": "T",
    "u": "AH", "v": "V", "w": "W", "x": "K S", "y": "IY", "z": "Z",
}  # fmt: skip
_LONGEST_LETTERS = max(map(len, _LETTERS))


def pronounce(word: str) -> str:
    """The phones of one word, separated by blanks: 'K EH L D AH'. Raises RecogniserError if it has none."""
    return pronunciations(word)[0]


def pronunciations(word: str) -> tuple[str, ...]:
    """Every way in which `word` is said, the usual one first."""
    known = TRADE_PRONUNCIATIONS.get(word)
    if known:
        return known
    return (_checked(word, _by_espeak(word) or by_spelling(word)),)


def check_phones(word: str, phones: str) -> str:
    """`phones` in the dictionary's own form (upper case, no stress digits).

    Raises RecogniserError where one of them is not ARPAbet.
    """
    tidy = [phone.upper().rstrip("012") for phone in phones.split()]
    wrong = [phone for phone in tidy if phone not in ARPABET]
    if wrong or not tidy:
        what = f"'{wrong[0]}' is not a phone" if wrong else "there are no phones"
        raise RecogniserError(
            f"the pronunciation of '{word}' can't be used: {what} in '{phones}'; "
            "write phones of the CMU dictionary, such as 'K EH L D AH'"
        )
    return " ".join(tidy)


def by_spelling(word: str) -> str:
    """What a few spelling rules make of `word`: a rough guess that needs no other program."""
    letters = word.lower()
    # A final silent e.
    if len(letters) > 3 and letters.endswith("e") and letters[-2] not in "aeiou":
        letters = letters[:-1]
    phones = _greedy(letters, _LETTERS, _LONGEST_LETTERS)
    return " ".join(phone for i, phone in enumerate(phones) if i == 0 or phone != phones[i - 1])


def from_ipa(ipa: str) -> str:
    """espeak-ng's phonemes, as its `--ipa` prints them, in ARPAbet."""
    bare = "".join(sign for sign in ipa if sign not in _MARKS)
    return " ".join(_greedy(bare, _IPA, _LONGEST_IPA))


@functools.cache
def _espeak() -> str | None:
    return shutil.which("espeak-ng")


@functools.lru_cache(maxsize=4096)
def _by_espeak(word: str) -> str:
    program = _espeak()
    if program is None:
        return ""
    done = subprocess.run(
        [program, "-q", "--ipa", "-v", "en-us", "--", word], capture_output=True, check=False, timeout=20
    )
    return from_ipa(done.stdout.decode("utf-8", "replace")) if done.returncode == 0 else ""


def _greedy(text: str, table: Mapping[str, str], longest: int) -> list[str]:
    phones: list[str] = []
    at = 0
    while at < len(text):
        for length in range(min(longest, len(text) - at), 0, -1):
            found = table.get(text[at : at + length])
            if found is not None:
                phones.extend(found.split())
                at += length
                break
        else:
            at += 1
    return phones


def _checked(word: str, phones: str) -> str:
    if not phones:
        raise RecogniserError(
            f"no pronunciation can be made for '{word}': give one with the drill "
            "(or install the Debian package espeak-ng)"
        )
    return check_phones(word, phones)
