"""What is installed beside this tool, and what each package is there for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import Distribution, distributions

from packaging.requirements import InvalidRequirement, Requirement
from packaging.utils import canonicalize_name

from burnin.cli.packages.licences import Licence, licence_of

TOOL = "burnin"
RUN = "run"
"""What a package is for that the tool needs to run; the other purposes are its extras."""
Found = Mapping[str, Distribution]


@dataclass(frozen=True)
class Package:
    """An installed package; `needed_for` is empty where nothing asks for it.

    `name` is normalised, so that each package has one; `title` is as its makers write it. `needs`
    are the installed packages that it asks for itself, by their normalised names.
    """

    name: str
    title: str
    version: str
    licence: Licence
    needed_for: tuple[str, ...]
    needs: tuple[str, ...]


def found(among: Iterable[Distribution] | None = None) -> dict[str, Distribution]:
    """Every installed distribution by its normalised name; of two the one that is imported."""
    named: dict[str, Distribution] = {}
    for one in distributions() if among is None else among:
        name = one.metadata["Name"]
        if name:
            named.setdefault(canonicalize_name(name), one)
    return named


def packages(here: Found) -> tuple[Package, ...]:
    """Every package but the tool itself, by name."""
    purposes: dict[str, list[str]] = {}
    needs: dict[str, set[str]] = {}
    for purpose in (RUN, *extras(here)):
        wanted: frozenset[str] = frozenset() if purpose == RUN else frozenset((purpose,))
        for name, below in _reached(here, wanted).items():
            needs.setdefault(name, set()).update(below)
            known = purposes.setdefault(name, [])
            if RUN not in known:
                known.append(purpose)
    return tuple(
        Package(
            name=name,
            title=one.metadata["Name"],
            version=one.version,
            licence=licence_of(one),
            needed_for=tuple(purposes.get(name, ())),
            needs=tuple(sorted(needs.get(name, ()))),
        )
        for name, one in sorted(here.items())
        if name != TOOL
    )


def asked_by_tool(here: Found, wanted: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """The installed packages that the tool asks for itself, with these extras."""
    tool = here.get(TOOL)
    asked = () if tool is None else requirements(tool, wanted)
    return tuple(sorted({name for name, _ in asked if name in here}))


def extras(here: Found) -> tuple[str, ...]:
    """Names of the tool's extras."""
    tool = here.get(TOOL)
    return tuple(tool.metadata.get_all("Provides-Extra") or ()) if tool is not None else ()


def requirements(
    package: Distribution, wanted: frozenset[str]
) -> Iterator[tuple[str, frozenset[str]]]:
    """What a package asks for here with these extras of its own: name and extras of each."""
    for text in package.requires or ():
        try:
            asked = Requirement(text)
        except InvalidRequirement:
            continue
        told = asked.marker
        if told is None or any(told.evaluate({"extra": extra}) for extra in ("", *wanted)):
            yield canonicalize_name(asked.name), frozenset(asked.extras)


def _reached(here: Found, wanted: frozenset[str]) -> dict[str, set[str]]:
    """What the tool leads to with these extras, and what each of them asks for in turn."""
    waiting, seen = [(TOOL, wanted)], set[tuple[str, frozenset[str]]]()
    below: dict[str, set[str]] = {}
    while waiting:
        name, asked = waiting.pop()
        if (name, asked) in seen or name not in here:
            continue
        seen.add((name, asked))
        further = list(requirements(here[name], asked))
        below.setdefault(name, set()).update(n for n, _ in further if n in here)
        waiting.extend(further)
    below.pop(TOOL, None)
    return below
