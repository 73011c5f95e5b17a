"""voice_trainer: an offline, hands-free partner for chair-flying instrument procedures out loud.

Study aid only. Current charts, local procedures and your instructor come first. Never use it while operating
an aircraft or driving.
"""

__version__ = "0.1.0"
