"""A backup of everything that is the user's, in one file, and the way back.

The store is copied whole while it may be in use; settings, lakes, shorelines and own knowledge files go along. Password
files don't. A restore checks every file against the list in the backup before anything is touched.
"""

from __future__ import annotations

import hashlib
import io
import json
import tarfile
import tempfile
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path, PurePosixPath

from briefing.app.assembly import App
from briefing.app.owner import Owner
from briefing.delivery.folder import write_whole
from briefing.errors import InputError, NewerSchemaError, NotFoundError, StoreError
from briefing.profile.paths import Home
from briefing.store.database import note_backup, refuse_lost, set_aside_empty
from briefing.store.sqlite import check_header, copy_database

BACKUP_VERSION = 1
_MANIFEST = "manifest.json"
_STORE = "data/briefing.sqlite"
#: A backup larger than this is no backup of this program.
_LARGEST = 2_000_000_000


def back_up(app: App, target: Path) -> int:
    """Write a person's backup, without the mail password's file; the number of files. Raises StoreError."""
    refuse_lost(app.home.store_file, app.now())
    named = app.service_settings().mail.password_file
    secret = frozenset({Path(named).expanduser().resolve()}) if named else frozenset()
    return make_backup(app.home, target, app.now(), secret)


def make_backup(home: Home, target: Path, now: datetime, secret_files: frozenset[Path] = frozenset()) -> int:
    """Write everything into ``target`` (.tar.gz) and return the number of files. Raises StoreError."""
    contents = dict(_config_files(home, secret_files))
    with tempfile.TemporaryDirectory() as folder:
        if home.store_file.exists():
            copy = Path(folder) / "store"
            copy_database(home.store_file, copy)
            contents[_STORE] = copy.read_bytes()
        manifest = {
            "backup_version": BACKUP_VERSION,
            "made_at": now.isoformat(),
            "files": {name: hashlib.sha256(body).hexdigest() for name, body in sorted(contents.items())},
        }
        raw = io.BytesIO()
        with tarfile.open(fileobj=raw, mode="w:gz") as tar:
            for name, body in ((_MANIFEST, json.dumps(manifest, indent=1).encode()), *sorted(contents.items())):
                info = tarfile.TarInfo(name)
                info.size, info.mtime, info.mode = len(body), int(now.timestamp()), 0o600
                tar.addfile(info, io.BytesIO(body))
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_whole(target, raw.getvalue())
        target.chmod(0o600)
    except OSError as error:
        raise StoreError(f"The backup could not be written to {target}: {error.strerror or error}.") from None
    note_backup(home.data_dir, target)
    return len(contents)


def restore_backup(home: Home, source: Path, now: datetime, *, replace: bool) -> int:
    """Put a backup back in place and return the number of files.

    Without ``replace`` it is refused where there are files already; with it they are backed up first, beside the store.
    Raises NotFoundError, InputError (no backup, damaged), NewerSchemaError, StoreError (the service runs).
    """
    contents = read_backup(source)
    with Owner(home.data_dir / "service") as owner:
        running = [path for path in owner.folder.glob("*.lock") if path.stem != owner.token]
        if any(not owner.dead(path.stem) for path in running):
            raise StoreError("The service is running; stop it before you restore a backup.")
        set_aside_empty(home.store_file, now)
        present = home.store_file.exists() or any(home.lakes_dir.glob("*.toml"))
        if present and not replace:
            raise InputError("There are lakes or a store already; add --replace to put the backup in their place.")
        if present:
            make_backup(home, home.data_dir / f"before-restore-{now:%Y%m%dT%H%M%SZ}.tar.gz", now)
        for name, body in contents.items():
            path = _place(home, name)
            path.parent.mkdir(parents=True, exist_ok=True)
            if name == _STORE:
                for ending in ("-wal", "-shm"):
                    path.with_name(path.name + ending).unlink(missing_ok=True)
            write_whole(path, body)
        check_header(home.store_file)
    return len(contents)


def read_backup(source: Path) -> Mapping[str, bytes]:
    """Return a backup's files by name, each checked. Raises NotFoundError, InputError, NewerSchemaError."""
    try:
        with tarfile.open(source, mode="r:gz") as tar:
            bodies = {member.name: _read(tar, member) for member in tar if member.isfile()}
        manifest = json.loads(bodies.pop(_MANIFEST))
        version, listed = int(manifest["backup_version"]), dict(manifest["files"])
    except FileNotFoundError:
        raise NotFoundError(f"{source}: no such file; give the path of a backup.") from None
    except (OSError, EOFError, tarfile.TarError, KeyError, TypeError, ValueError):
        raise InputError(f"{source} is no backup of this program, or it is damaged.") from None
    if version > BACKUP_VERSION:
        raise NewerSchemaError(f"{source} was made by a newer version of this program; update it first.")
    found = {name: hashlib.sha256(body).hexdigest() for name, body in bodies.items()}
    if found != listed:
        raise InputError(f"{source} is damaged: a file in it is not what it was. Nothing was changed.")
    return bodies


def _read(tar: tarfile.TarFile, member: tarfile.TarInfo) -> bytes:
    handle = tar.extractfile(member)
    if handle is None or member.size > _LARGEST:
        raise tarfile.TarError("no plain file")
    return handle.read()


def _config_files(home: Home, secret_files: frozenset[Path]) -> Iterator[tuple[str, bytes]]:
    if not home.config_dir.is_dir():
        return
    for path in sorted(home.config_dir.rglob("*")):
        secret = path.suffix == ".env" or path.resolve() in secret_files
        if path.is_file() and not secret and not path.name.endswith(".part"):
            yield f"config/{path.relative_to(home.config_dir).as_posix()}", path.read_bytes()


def _place(home: Home, name: str) -> Path:
    parts = PurePosixPath(name).parts
    if name == _STORE:
        return home.store_file
    if parts[0] != "config" or ".." in parts or len(parts) < 2:
        raise InputError(f"The backup holds a file of an unknown place ({name}); nothing was changed.")
    return home.config_dir.joinpath(*parts[1:])
