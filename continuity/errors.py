"""The errors a caller may meet: a short tree, one sentence each, an exit status on each class.

The command line's documented table of exit statuses is made from these classes.
"""

from __future__ import annotations


class ContinuityError(Exception):
    """Anything this library refuses to do; catch this to catch all of them."""

    status = 3
    meaning = "the register cannot be used"


class InputError(ContinuityError):
    """What was given is wrong; nothing was recorded."""

    status = 2
    meaning = "the input is wrong; nothing was recorded"


class FormatError(InputError):
    """Bytes that should be a note, a checkpoint, a proof, a key or canonical JSON are not."""


class KeyFileError(InputError):
    """A key file cannot be read or unlocked."""


class RegisterError(ContinuityError):
    """The register cannot be used: missing, locked for too long, newer or behind its guard."""


class MissingRegisterError(RegisterError):
    """No register stands at the path; only `start` makes one."""


class LockedRegisterError(RegisterError):
    """Another program held the register for longer than the wait allowed."""


class DamagedRegisterError(RegisterError):
    """The file is not a register, or its bytes contradict themselves."""


class NewerRegisterError(RegisterError):
    """The register was written by a later version of this program."""


class BehindGuardError(RegisterError):
    """The register is older than, or differs from, the checkpoint its guard holds."""
