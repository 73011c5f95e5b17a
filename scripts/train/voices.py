"""Who speaks for training, who for the development set, and who never does.

Voices for test are in no training and no tuning: a figure says how a voice is heard that nothing ever heard. The tests
hold these lists apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

KOKORO_TRAINING = (
    "af_aoede", "af_heart", "af_nicole", "af_sarah", "af_sky", "am_echo", "am_michael", "am_santa", "bf_emma",
    "bf_isabella", "bm_george", "em_santa", "hf_alpha", "hm_omega", "jf_gongitsune", "jf_nezumi", "jf_tebukuro",
    "pf_dora", "pm_santa", "zf_xiaobei", "zf_xiaoxiao", "zm_yunjian", "zm_yunxia", "zm_yunyang",
)  # fmt: skip
KOKORO_DEVELOPMENT = ("af_kore", "am_fenrir", "bm_fable", "zf_xiaoni")
"""They may be trained on; left out so that the development set has voices that training does not know."""
KOKORO_TEST = (
    "af_bella", "af_nova", "af_river", "am_eric", "am_liam", "am_puck", "bf_lily", "bm_lewis", "em_alex", "hf_beta",
    "if_sara", "jm_kumo", "zm_yunxi",
)  # fmt: skip
"""Never here. Kokoro's other voices are left alone too."""

ESPEAK_ACCENTS = (
    *("en-us",) * 7, *("en",) * 5, *("en-gb-x-rp",) * 2, *("en-gb-scotland",) * 2,
    "en-029", "en-us-nyc", "en-gb-x-gbclan", "en-gb-x-gbcwmd",
)  # fmt: skip
"""`en` is British."""
ESPEAK_TRAINING = (
    "Alex", "Alicia", "Andrea", "Andy", "Annie", "Denis", "Diogo", "Gene", "Gene2", "Henrique", "Hugo", "Jacky", "Lee",
    "Marco", "Mario", "Mike", "Nguyen", "RicishayMax", "RicishayMax2", "Storm", "adam", "anika", "antonio", "aunty",
    "belinda", "benjamin", "boris", "caleb", "david", "ed", "edward", "edward2", "f1", "f3", "f5", "grandma", "grandpa",
    "gustave", "iven", "iven2", "iven3", "john", "klatt", "klatt2", "klatt3", "klatt4", "klatt5", "klatt6", "m4", "m5",
    "m6", "m8", "marcelo", "max", "michel", "miguel", "norbert", "pablo", "pedro", "quincy", "rob", "robert", "sandro",
    "shelby", "steph", "steph2", "steph3", "travis", "victor", "zac", "f1", "f3", "f5", "m4", "m5", "m6", "m8", "",
)  # fmt: skip
ESPEAK_DEVELOPMENT = ("paul",)
ESPEAK_TEST = ("f2", "f4", "linda", "m1", "m2", "m3", "m7", "Michael")
"""Variants that the recognition benchmark tests with."""

FLITE_TRAINING = ("awb", "rms")
FLITE_TEST = ("slt", "kal", "kal16")


@dataclass(frozen=True)
class Blend:
    """One voice of Kokoro, with some of another in it."""

    first: str
    second: str
    share: float
    """Of the second."""


def drawn_blend(chance: np.random.Generator, voices: tuple[str, ...] = KOKORO_TRAINING) -> Blend:
    """A voice as it is, or with up to half of another."""
    first, second = chance.choice(voices, 2, replace=False)
    return Blend(str(first), str(second), 0.0 if chance.random() < 0.4 else float(chance.uniform(0.15, 0.5)))


def drawn_espeak(chance: np.random.Generator, variants: tuple[str, ...] = ESPEAK_TRAINING) -> str:
    """An accent and a variant, as espeak-ng calls them together."""
    accent, variant = chance.choice(ESPEAK_ACCENTS), chance.choice(variants)
    return f"{accent}+{variant}" if variant else str(accent)
