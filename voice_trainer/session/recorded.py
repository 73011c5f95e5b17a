"""A microphone that also keeps what it hears in a WAV file, because the user asked for it."""

from __future__ import annotations

from voice_trainer.audio.ports import Block, Microphone, Samples
from voice_trainer.audio.virtual import SampleSink


class UntilTheEnd:
    """One sink or several, for as long as a drill runs: what its microphone hears after that is not kept."""

    def __init__(self, *sinks: SampleSink) -> None:
        self._sinks = sinks

    def append(self, samples: Samples) -> None:
        """See SampleSink."""
        for sink in self._sinks:
            sink.append(samples)

    def end(self) -> None:
        """Keep nothing more."""
        self._sinks = ()


class RecordedMicrophone:
    """`microphone`, with every block also given to `sink`: sample n of the recording is sample n of the session."""

    def __init__(self, microphone: Microphone, sink: SampleSink) -> None:
        self.name = microphone.name
        self._microphone = microphone
        self._sink = sink

    def read(self) -> Block | None:
        """See Microphone."""
        block = self._microphone.read()
        if block is not None:
            self._sink.append(block.samples)
        return block

    def session_seconds(self, host_seconds: float) -> float:
        """See Microphone."""
        return self._microphone.session_seconds(host_seconds)

    def reopen(self) -> bool:
        """See Microphone."""
        return self._microphone.reopen()

    def close(self) -> None:
        """See Microphone; the sink is its owner's to close."""
        self._microphone.close()
