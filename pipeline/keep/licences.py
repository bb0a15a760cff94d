"""The packages this program runs on, with the licence each of them states."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import metadata


@dataclass(frozen=True)
class Licence:
    """An installed package that is needed, and what its own metadata says of its licence."""

    package: str
    version: str
    licence: str


def read_licences(root: str = "setwright") -> list[Licence]:
    """Every package that `root` needs, directly or not, in the order of their names."""
    todo, found = [root], {}
    while todo:
        name = _canonical(todo.pop())
        if name in found:
            continue
        try:
            package = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            continue  # needed on another system only
        found[name] = Licence(name, package.version, _stated(package.metadata))
        todo += [needed for line in package.requires or [] if (needed := _needed(line))]
    found.pop(_canonical(root), None)
    return [found[name] for name in sorted(found)]


def _canonical(name: str) -> str:
    """A package's name as PEP 503 spells it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _needed(line: str) -> str:
    """The package a requirement names; empty for one of an extra."""
    name, _, marker = line.partition(";")
    found = re.match(r"[\w.-]+", name.strip())
    return found.group(0) if found and "extra" not in marker else ""


def _stated(about: metadata.PackageMetadata) -> str:
    """The licence: its expression, else the classifiers, else the first line of the licence field."""
    fields = {key: about.get_all(key) or [] for key in ("License-Expression", "Classifier", "License")}
    if fields["License-Expression"]:
        return str(fields["License-Expression"][0])
    classes = [
        str(one).split(" :: ")[-1] for one in fields["Classifier"] if str(one).startswith("License ::")
    ]
    named = [one for one in classes if one != "OSI Approved"]
    if named:
        return " / ".join(named)
    lines = [line.strip() for line in str((fields["License"] or [""])[0]).splitlines() if line.strip()]
    return lines[0][:80] if lines else "not stated"
