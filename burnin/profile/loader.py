"""Profiles as files: found by name or path, read, checked, and explained where they are wrong."""

from __future__ import annotations

import hashlib
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput, ProfileError
from burnin.core.files.nearest import nearest
from burnin.profile.diagnostics import explain, read_toml
from burnin.profile.refusals import ProfileRefusal

if TYPE_CHECKING:
    from burnin.profile.model import Profile


@dataclass(frozen=True)
class LoadedProfile:
    """A valid profile with the file, text and SHA-256 it came from."""

    name: str
    file: str
    text: str
    sha256: str
    profile: Profile


def profile_folders() -> tuple[Path, ...]:
    """Where profiles are looked up: the installed ones, or those of the source tree."""
    package = Path(__file__).parent.parent
    return tuple(p for p in (package / "profiles", package.parent / "profiles") if p.is_dir())


def profile_names() -> tuple[str, ...]:
    """Names of all profiles that are installed, sorted."""
    return tuple(sorted({p.stem for folder in profile_folders() for p in folder.glob("*.toml")}))


def find_profile(name_or_path: str) -> Path:
    """The file of a profile; raises ProfileError with the names there are."""
    if name_or_path.endswith(".toml") or "/" in name_or_path:
        path = Path(name_or_path)
        if _is_file(path):
            return path
        raise ProfileError(ProfileRefusal.NO_FILE(file=name_or_path))
    for folder in profile_folders():
        path = folder / f"{name_or_path}.toml"
        if _is_file(path):
            return path
    near = nearest(name_or_path, profile_names())
    there = profile_names()
    if near:
        raise ProfileError(ProfileRefusal.NO_SUCH_NEAR(name=name_or_path, near=near, there=there))
    raise ProfileError(ProfileRefusal.NO_SUCH(name=name_or_path, there=there))


def _is_file(path: Path) -> bool:
    """Whether a file is there; a name that can be none (a zero byte, too long) is no file."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def load_profile(name_or_path: str) -> LoadedProfile:
    """Read and check a profile; raises ProfileError that names file, field, value and remedy."""
    path = find_profile(name_or_path)
    try:
        text, content = read_toml(path)
    except BadInput as error:
        raise ProfileError(error.told) from error
    return parse_profile(path.stem, str(path), text, content)


def parse_profile(name: str, file: str, text: str, content: dict[str, object]) -> LoadedProfile:
    """Check a profile's content; raises ProfileError."""
    from pydantic import ValidationError

    from burnin.profile.model import Profile

    try:
        # JSON mode takes TOML's arrays as tuples and stays strict in all else.
        profile = Profile.model_validate_json(json.dumps(content, default=str))
    except ValidationError as error:
        raise ProfileError(explain(error, file, text)) from error
    except (ValueError, RecursionError) as error:
        raise ProfileError(ProfileRefusal.UNUSABLE(file=file, words=str(error))) from error
    digest = hashlib.sha256(text.encode()).hexdigest()
    return LoadedProfile(name, file, text, digest, profile)


def profile_of_text(name: str, file: str, text: str) -> LoadedProfile:
    """A profile out of the text that a record kept of it; raises ProfileError."""
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise ProfileError(ProfileRefusal.NO_TOML(file=file, words=str(error))) from error
    return parse_profile(name, file, text, content)


def profile_schema() -> str:
    """JSON Schema (2020-12) of the format, for editors that complete TOML."""
    from burnin.profile.model import Profile

    schema = Profile.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False)
