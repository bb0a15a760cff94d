"""What the program is built from: pinned with hashes, under known licences, looked over without needing a network."""

from __future__ import annotations

import os
import re
import subprocess
import tomllib
from pathlib import Path

from pipeline.keep.licences import read_licences

ROOT = Path(__file__).resolve().parents[2]
ALLOWED = re.compile(
    r"MIT|BSD|Apache|ISC|PSF|Python Software Foundation|Zlib|Unlicense|CC0|MPL|Mozilla|OFL|SIL|HPND",
    re.IGNORECASE,
)
LOCK = ROOT / ".ci" / "requirements.lock"


def locked() -> dict[str, tuple[str, int]]:
    """Package → version and number of hashes."""
    entries = re.split(r"\n(?=\S)", LOCK.read_text(encoding="utf-8"))
    found = {}
    for entry in entries:
        head = re.match(r"([\w.-]+)(?:\[[\w,]+\])?==(\S+)", entry)
        if head:
            name = re.sub(r"[-_.]+", "-", head.group(1)).lower()
            found[name] = (head.group(2), len(re.findall(r"--hash=sha256:[0-9a-f]{64}", entry)))
    return found


def test_every_locked_package_is_pinned_and_has_a_hash() -> None:
    found = locked()
    assert len(found) > 50
    assert [name for name, (_, n_hashes) in found.items() if n_hashes == 0] == []
    lines = [line for line in LOCK.read_text(encoding="utf-8").splitlines() if re.match(r"[\w.]", line)]
    assert [line for line in lines if not re.match(r"[\w.-]+(?:\[[\w,]+\])?==\S", line)] == []


def test_every_package_that_is_asked_for_is_locked() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["dev"]]
    names = {re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", line).group(0)).lower() for line in asked}  # type: ignore[union-attr]
    assert names - set(locked()) == set()


def test_every_package_that_runs_has_a_licence_that_lets_anyone_use_it() -> None:
    found = read_licences()
    assert len(found) > 40
    assert [(one.package, one.licence) for one in found if not ALLOWED.search(one.licence)] == []
    assert [one.package for one in found if re.search(r"\bA?GPL|SSPL|BUSL", one.licence)] == []


def test_the_audit_does_not_fail_for_want_of_a_network(tmp_path: Path) -> None:
    (tmp_path / "uvx").write_text("#!/bin/sh\necho 'error: could not connect' >&2\nexit 2\n")
    (tmp_path / "uvx").chmod(0o755)
    environment = {
        "PATH": f"{tmp_path}{os.pathsep}/usr/bin:/bin",
        "HOME": str(tmp_path),
        "AUDIT_WITH": str(tmp_path / "uvx"),
    }
    done = subprocess.run(
        ["sh", str(ROOT / ".ci/audit")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
    assert "not reachable" in done.stdout


def test_the_audit_fails_where_a_package_has_a_known_fault(tmp_path: Path) -> None:
    (tmp_path / "uvx").write_text("#!/bin/sh\necho 'Found 1 known vulnerability in 1 package'\nexit 1\n")
    (tmp_path / "uvx").chmod(0o755)
    environment = {"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "AUDIT_WITH": str(tmp_path / "uvx")}
    done = subprocess.run(
        ["sh", str(ROOT / ".ci/audit")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 1
    assert "known vulnerability" in done.stdout
