"""Finding a password without ever writing one down: environment, a file of the user's alone, the system's keyring."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from pathlib import Path

from briefing.errors import InputError

KEYRING_SERVICE = "lake-morning-briefing"


class Secret:
    """A password that shows itself to no one who prints it."""

    __slots__ = ("_value",)

    def __init__(self, value: str) -> None:
        self._value = value

    def reveal(self) -> str:
        """The password, for the one line that needs it."""
        return self._value

    def __repr__(self) -> str:
        return "Secret(...)"

    def __bool__(self) -> bool:
        return bool(self._value)


def find_secret(environment: Mapping[str, str], variable: str, file: str, user: str) -> Secret:
    """Look in the variable, the file named by VARIABLE_FILE, the service manager's folder, the file, the keyring.

    Returns an empty secret when there is none anywhere. Raises InputError when a file is open to others.
    """
    if environment.get(variable):
        return Secret(environment[variable])
    named = environment.get(f"{variable}_FILE") or file
    credentials = environment.get("CREDENTIALS_DIRECTORY")
    if credentials and (Path(credentials) / variable.lower()).is_file():
        return Secret((Path(credentials) / variable.lower()).read_text(encoding="utf-8").strip())
    if named:
        return _from_file(Path(named).expanduser())
    return _from_keyring(user)


def _from_file(path: Path) -> Secret:
    try:
        mode = path.stat().st_mode
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(f"The password file {path} can't be read: {error.strerror or error}.") from None
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise InputError(f"The password file {path} can be read by others; run: chmod 600 {path}")
    return Secret(text.strip())


def _from_keyring(user: str) -> Secret:
    try:
        import keyring  # type: ignore[import-not-found, unused-ignore]
    except ImportError:
        return Secret("")
    try:
        return Secret(keyring.get_password(KEYRING_SERVICE, user) or "")
    except keyring.errors.KeyringError:  # no keyring runs, as on a machine without a desktop
        return Secret("")
