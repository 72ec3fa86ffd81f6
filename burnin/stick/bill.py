"""The bill of materials of an image: Debian's packages and Python's, CycloneDX 1.6 as JSON.

Debian's are read from the root's own list of what is installed (deb822, dpkg-query's status file);
the names are package URLs (purl specification, type deb and pypi).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from urllib.parse import quote
from uuid import UUID

from burnin.stick.wish import SUITE, data

_FIELD = re.compile(r"^(Package|Version|Architecture|Status): (.*)$", re.MULTILINE)
_WHEEL = re.compile(r"^(.+)-([^-]+)\.dist-info$")


def debian_versions(status: str) -> dict[str, tuple[str, str]]:
    """Version and architecture of each installed package, by name, of a status file."""
    found = {}
    for entry in status.split("\n\n"):
        fields = dict(_FIELD.findall(entry))
        if fields.get("Status", "").endswith(" installed"):
            found[fields["Package"]] = fields["Version"], fields["Architecture"]
    return found


def python_versions(root: Path) -> dict[str, str]:
    """Version of each package of Python below a folder, by name."""
    matches = (_WHEEL.match(one.name) for one in root.rglob("*.dist-info") if one.is_dir())
    return {found[1]: found[2] for found in matches if found is not None}


def locked() -> dict[str, str]:
    """Versions of Debian's packages that the tree names, by package."""
    found = {}
    for line in data("lock.debian.txt").read_text("utf-8").splitlines():
        name, equals, version = line.partition("=")
        if equals and not line.startswith("#"):
            found[name] = version
    return found


def other_than_locked(there: Mapping[str, tuple[str, str]]) -> Iterator[str]:
    """``name version`` of each package that is not as the lock has it."""
    wanted = locked()
    for name in sorted({*wanted, *there}):
        version = there[name][0] if name in there else "-"
        if wanted.get(name, "-") != version:
            yield f"{name} {version}"


def bill(
    debian: Mapping[str, tuple[str, str]],
    python: Mapping[str, str],
    image: str,
    sha256: str,
    own: UUID,
) -> str:
    """The bill as JSON; the same for the same image, so that it bears no day."""
    parts = [
        _part(name, version, f"pkg:deb/debian/{name}@{quote(version)}?arch={arch}&distro={SUITE}")
        for name, (version, arch) in sorted(debian.items())
    ]
    parts += [
        _part(name, version, f"pkg:pypi/{name.lower().replace('_', '-')}@{quote(version)}")
        for name, version in sorted(python.items())
    ]
    about = {
        "type": "file",
        "name": image,
        "hashes": [{"alg": "SHA-256", "content": sha256}],
    }
    told = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{own}",
        "version": 1,
        "metadata": {"component": about},
        "components": parts,
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def _part(name: str, version: str, purl: str) -> dict[str, str]:
    return {"type": "library", "name": name, "version": version, "purl": purl, "bom-ref": purl}
