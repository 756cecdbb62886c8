"""Everything that somebody must act on. One base class; each message says what to do."""

from __future__ import annotations


class PullcallError(Exception):
    """Base of every error a person can act on. ``str(error)`` is one sentence for them."""


class ConfigError(PullcallError):
    """The configuration cannot be used as written."""


class LayoutError(ConfigError):
    """A declared probe layout cannot be used as written."""


class LogError(PullcallError):
    """The cook log cannot be opened, read or written."""


class LogInUseError(LogError):
    """Another process writes the cook log."""


class LogDamagedError(LogError):
    """The cook log is not whole: what can be read of it may be wrong, and it is not written."""


class CookKnownError(LogError):
    """A cook of that id is in the log already."""


class LogFormatError(LogError):
    """A cook file is not one this version can read."""


class UnworkableError(LogError):
    """What was logged of a cook cannot be worked out, whatever of it is left out."""


class RefusedError(PullcallError):
    """An input from a person cannot be taken (a mark out of order, a spot out of range)."""


class UnknownNameError(RefusedError):
    """A steak, mark, call or probe was named that this cook does not have."""


class SourceError(PullcallError):
    """A source of readings cannot be started (no adapter, no permission, no service)."""


class AddressInUseError(PullcallError):
    """The page cannot be served because something else listens there."""


class DoorError(PullcallError):
    """Nobody can come in any more where the page was served."""


class CallsEndedError(PullcallError):
    """The log or the call engine failed, which ends the process."""


class StoppingError(PullcallError):
    """Pullcall is being stopped: what somebody waited for may have been taken or not."""


class PairingError(PullcallError):
    """A phone cannot be paired by this link or code."""


class PairedFileError(PullcallError):
    """The paired phones cannot be kept on disk."""


class BrokerError(PullcallError):
    """The MQTT broker cannot be reached, or does not do what it should."""


def reason(error: BaseException) -> str:
    """Why something failed, for a sentence: of the system's errors its words alone, without their
    number or the path, which that sentence names."""
    words = error.strerror if isinstance(error, OSError) else None
    return words or str(error) or type(error).__name__
