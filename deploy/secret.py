"""The secret key: from the environment, else made once and kept in the home folder."""

import os
import secrets
import tempfile
from pathlib import Path

from deploy.environment import BadSetting, Environment


def secret_key(env: Environment) -> str:
    """The key that signs sessions. Made once, mode 0600; raises BadSetting when the home cannot be written."""
    if env.secret_key:
        return env.secret_key
    path = env.home / "secret-key"
    try:
        return _kept(path)
    except (FileNotFoundError, NotADirectoryError):
        pass
    except OSError as error:
        raise BadSetting(f"the secret key {path} cannot be read: {error.strerror}") from None
    try:
        env.home.mkdir(mode=0o700, parents=True, exist_ok=True)
        return _made(path)
    except OSError as error:
        raise BadSetting(
            f"the home folder {env.home} cannot be written: {error.strerror}. Set SELVEDGE_HOME to a folder of yours."
        ) from None


def _kept(path: Path) -> str:
    key = path.read_text().strip()
    if len(key) < 32:
        raise BadSetting(f"{path} is too short for a secret key; remove it to have a new one made (everybody signs in again)")
    return key


def _made(path: Path) -> str:
    """Write a new key beside its place and link it in: of two processes starting at once, one key wins."""
    descriptor, fresh = tempfile.mkstemp(prefix="secret-key.", dir=path.parent)
    with os.fdopen(descriptor, "w") as file:
        file.write(secrets.token_urlsafe(64) + "\n")
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(fresh, path)
    except FileExistsError:
        pass
    finally:
        Path(fresh).unlink()
    return _kept(path)
