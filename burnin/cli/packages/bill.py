"""The bill of materials of this installation, as CycloneDX 1.6 in JSON.

Format: the published schema of CycloneDX 1.6 (ECMA-424); names of packages are package URLs (purl).
A package's archives are an outside reference with the sums of its lock, for an installed package no
longer tells from which of them it came.
"""

from __future__ import annotations

import platform
import uuid
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from burnin.cli.packages.installed import RUN, TOOL, Package
from burnin.cli.packages.licences import Licence
from burnin.cli.packages.locks import Locked

SCHEMA, VERSION = "http://cyclonedx.org/schema/bom-1.6.schema.json", "1.6"
NOT_AT_RUN_TIME = frozenset({"tests", "mutants"})
"""Extras whose packages never take part in a run."""
Bill = dict[str, Any]


def bill_of_materials(
    tool_version: str,
    installed: Sequence[Package],
    locked: Sequence[Locked],
    made_at: datetime,
    *,
    asked: Collection[str],
    everything: bool = False,
) -> Bill:
    """What a run may load; with `everything` also what is there for tests, or for nothing.

    `made_at` is a moment in UTC; `asked` names what the tool asks for itself. The serial number
    follows from the rest: it differs where the bill does.
    """
    listed = [one for one in installed if everything or scope(one) != "excluded"]
    places = {one.name: purl(one.title, one.version) for one in listed}
    root, interpreter = purl(TOOL, tool_version), _interpreter()
    bill: Bill = {
        "$schema": SCHEMA,
        "bomFormat": "CycloneDX",
        "specVersion": VERSION,
        "version": 1,
        "metadata": {
            "timestamp": made_at.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "tools": {"components": [_component("application", TOOL, tool_version)]},
            "component": _component("application", TOOL, tool_version) | {"bom-ref": root},
        },
        "components": [interpreter, *(_library(one, locked) for one in listed)],
        "dependencies": [
            _needs(root, asked, places, interpreter["bom-ref"]),
            *(_needs(places[one.name], one.needs, places) for one in listed),
        ],
        # What wheels carry inside besides the package itself is in nobody's metadata.
        "compositions": [{"aggregate": "incomplete", "assemblies": [root]}],
    }
    serial = uuid.uuid5(uuid.NAMESPACE_URL, repr(bill))
    return {**bill, "serialNumber": f"urn:uuid:{serial}"}


def purl(name: str, version: str) -> str:
    """The package URL of a Python package (purl specification, type pypi: in small letters, with
    ``-`` for ``_``; a dot stays)."""
    at = version.replace("+", "%2B").replace("!", "%21")
    return f"pkg:pypi/{name.lower().replace('_', '-')}@{at}"


def scope(package: Package) -> str:
    """Whether a run needs it, may load it, or never does, in the words of CycloneDX."""
    if RUN in package.needed_for:
        return "required"
    return "optional" if set(package.needed_for) - NOT_AT_RUN_TIME else "excluded"


def licences(licence: Licence) -> list[dict[str, Any]]:
    """A licence as CycloneDX has it: an SPDX expression, else a name; none where none is known."""
    if licence.spdx:
        return [{"expression": licence.text}]
    return [{"license": {"name": licence.text}}] if licence.text else []


def _component(kind: str, name: str, version: str) -> dict[str, Any]:
    return {"type": kind, "name": name, "version": version}


def _interpreter() -> dict[str, Any]:
    name, version = platform.python_implementation(), platform.python_version()
    return _component("platform", name, version) | {"bom-ref": f"{name}@{version}"}


def _library(package: Package, locked: Sequence[Locked]) -> dict[str, Any]:
    place = purl(package.title, package.version)
    sums = {
        each
        for line in locked
        if (line.name, line.version) == (package.name, package.version)
        for each in line.sha256
    }
    library = _component("library", package.title, package.version)
    library |= {"bom-ref": place, "purl": place, "scope": scope(package)}
    if told := licences(package.licence):
        library["licenses"] = told
    if sums:
        library["externalReferences"] = [
            {
                "type": "distribution",
                "url": place,
                "comment": "one of the archives with these sums",
                "hashes": [{"alg": "SHA-256", "content": each} for each in sorted(sums)],
            }
        ]
    return library


def _needs(
    of: str, names: Iterable[str], places: Mapping[str, str], *also: str
) -> dict[str, Any]:
    below = {places[name] for name in names if name in places}
    return {"ref": of, "dependsOn": [*also, *sorted(below)]}
