"""onnxruntime, told before it is loaded to report nothing: the one place that imports it.

From some version on its wheels for Linux report what they run to their maker over the network, and keep reports that
could not be sent, with a number for this machine, below the user's cache folder. Measured on 1.32.0: the variable is
read once, while the library is loaded; `disable_telemetry_events()` comes too late and stops neither. Programs that are
started from here inherit the variable.
"""

from __future__ import annotations

import os

os.environ["ORT_DISABLE_TELEMETRY"] = "1"

import onnxruntime  # noqa: TID251

__all__ = ["onnxruntime"]
