"""One audio set-up for many drills: microphone, speaker, voices and recogniser are opened once.

Each drill, and each talk between drills, is a `Stretch` of its own: its clock begins at zero where the last one ended,
and the recogniser is made ready for what may be said in it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from voice_trainer.audio.ports import Microphone, Samples, Speaker
from voice_trainer.audio.stretches import MicrophoneStretch, SpeakerStretch, in_stretch
from voice_trainer.audio.virtual import SampleSink, ScheduledSource
from voice_trainer.journal.personal import Profile
from voice_trainer.journal.thinking import THINKING_SECONDS
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.fitting import settings_for
from voice_trainer.recognition.personal import USUAL
from voice_trainer.recognition.ports import Readiness, Recogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.ears import Ears
from voice_trainer.session.foresight import Foresight
from voice_trainer.session.keys import Keys
from voice_trainer.session.mouth import Mouth
from voice_trainer.session.recorded import RecordedMicrophone
from voice_trainer.session.sleep_watch import SleepWatch


@dataclass(frozen=True, slots=True)
class Stretch:
    """What one drill or talk needs of the studio; times count from where it begins.

    `say` puts a clip of the synthetic student before the microphone, None where a person or a recording is heard.
    """

    microphone: Microphone
    speaker: Speaker
    mouth: Mouth
    ears: Ears
    say: Callable[[float, Samples], float] | None


class Studio:
    """Opened by `cli.opening`, closed by whoever opened its parts.

    `in_step`: virtual time, in which renderings and hearings are waited for. `source` is where the synthetic student
    speaks. `weighs_deafness`: tell how much speech fell where nobody listened. `keys`: those of a keyboard, if any.
    `sleep_watch`: given where a computer that sleeps is a pause.
    """

    def __init__(
        self,
        microphone: Microphone,
        speaker: Speaker,
        booth: Booth,
        recogniser: Recogniser,
        *,
        profile: Profile | None = None,
        headset: bool = False,
        in_step: bool = True,
        weighs_deafness: bool = False,
        source: ScheduledSource | None = None,
        keys: Keys | None = None,
        sleep_watch: SleepWatch | None = None,
    ) -> None:
        self.booth = booth
        self.recogniser = recogniser
        self.profile = profile
        self.headset = headset
        self.sleep_watch = sleep_watch
        self.keys: Callable[[float], list[str]] = keys or (lambda now: [])
        self._microphone = microphone
        self._speaker = speaker
        self._in_step = in_step
        self._weighs_deafness = weighs_deafness
        self._source = source
        self._latest: MicrophoneStretch | None = None
        self._ears: Ears | None = None

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make the recogniser ready for the next stretch. Raises RecogniserError."""
        self._end_stretch()
        return self.recogniser.prepare(grammar, pronounce)

    def begin(
        self,
        foresight: Foresight | None = None,
        record: SampleSink | None = None,
        thinking_seconds: float = THINKING_SECONDS,
    ) -> Stretch:
        """The next stretch, from the next sample on; `record` gets all that the microphone hears in it."""
        self._end_stretch()
        first_sample = self._latest.next_sample if self._latest else 0
        stretch = self._latest = MicrophoneStretch(self._microphone, first_sample)
        personal = self.profile.values if self.profile else USUAL
        ears = self._ears = Ears(
            self.recogniser,
            settings_for(personal),
            in_step=self._in_step,
            input_gain_db=personal.input_gain_db,
            foresight=foresight,
            weighs_deafness=self._weighs_deafness,
            thinking_seconds=thinking_seconds,
        )
        speaker = SpeakerStretch(self._speaker, first_sample)
        return Stretch(
            microphone=RecordedMicrophone(stretch, record) if record else stretch,
            speaker=speaker,
            mouth=Mouth(speaker, self.booth, in_step=self._in_step),
            ears=ears,
            say=in_stretch(self._source.say, first_sample) if self._source else None,
        )

    def close(self) -> None:
        """Let the recogniser's thread end; the devices are their owner's to close."""
        self._end_stretch()

    def _end_stretch(self) -> None:
        if self._ears is not None:
            self._ears.close()
            self._ears = None
