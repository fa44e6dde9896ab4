"""The errors that reach a user, each one clear sentence and an exit code.

    BriefingError            (exit 1)
    |-- InputError           (exit 2)  what the user typed or wrote in a file
    |   |-- ProfileError               a lake profile: file, field, found, accepted
    |   `-- UnitError                  a quantity that could not be read
    |-- StoreError           (exit 3)  the database or a file of ours
    |   |-- StoreInUseError            another process has the database
    |   `-- NewerSchemaError           written by a newer version of the program
    |-- SourceError          (exit 4)  a data service; ``retryable`` says if it may pass
    `-- NotFoundError        (exit 5)  a lake, reading or file that is not there

Exit code 0 is success. A source that fails alone is no error of the run: the briefing says what is missing.
"""


class BriefingError(Exception):
    """Base of all errors with a message for the user: what, where, what to do."""

    exit_code = 1


class InputError(BriefingError):
    """Something the user typed or wrote in a file can't be taken as it is."""

    exit_code = 2


class ProfileError(InputError):
    """A lake profile names a field wrongly; the message gives file, field, found and accepted."""


class UnitError(InputError):
    """A quantity could not be read, or is out of all likelihood; the message gives the likely meaning."""


class StoreError(BriefingError):
    """The database or one of our files could not be read or written."""

    exit_code = 3


class StoreInUseError(StoreError):
    """Another process had the database and did not let go of it in time; it may be doing what was asked for."""


class NewerSchemaError(StoreError):
    """The file was written by a newer version of this program and is left alone."""


class SourceError(BriefingError):
    """A data service failed; ``retryable`` is true when the same request may pass later."""

    exit_code = 4

    def __init__(self, message: str, *, retryable: bool = False) -> None:
        super().__init__(message)
        self.retryable = retryable


class NotFoundError(BriefingError):
    """What was asked for is not there."""

    exit_code = 5
