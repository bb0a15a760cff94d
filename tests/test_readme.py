"""What README.md and DEVELOPERS.md tell people to type exists, and what they point at is there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from pipeline.cli import COMMANDS, setwright

ROOT = Path(__file__).resolve().parents[1]
PAGES = ["README.md", "DEVELOPERS.md", "dashboards/deployment.md", "pipeline/run/spark/README.md"]


def lines_of_code(page: str) -> list[str]:
    """Lines of a page's code blocks, and its inline code."""
    text = (ROOT / page).read_text(encoding="utf-8")
    blocks = re.findall(r"```[a-z]*\n(.*?)```", text, re.DOTALL)
    return [line.strip() for block in blocks for line in block.splitlines()] + re.findall(
        r"`([^`\n]+)`", text
    )


TYPED = sorted(
    {
        line.split("#")[0].strip()
        for page in PAGES
        for line in lines_of_code(page)
        if re.match(r"(\.venv/bin/)?setwright \S", line)
    }
)


@pytest.mark.parametrize("line", TYPED)
def test_every_command_that_is_shown_exists_with_its_options(line: str) -> None:
    _, name, *arguments = shlex.split(line.split("|")[0].split("…")[0])
    if name.startswith("-"):
        return
    assert name in COMMANDS
    command = setwright.get_command(click.Context(setwright), name)
    assert command is not None
    known = {
        option for parameter in command.params for option in (*parameter.opts, *parameter.secondary_opts)
    }
    assert {argument for argument in arguments if argument.startswith("--")} <= known | {"--help"}


def test_every_command_stands_in_the_readme() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"setwright {name}" not in text and f"`{name}`" not in text] == []


def test_every_make_target_that_is_shown_exists() -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    shown = {
        match
        for page in PAGES
        for line in lines_of_code(page)
        for match in re.findall(r"\bmake ([a-z]+)", line)
    }
    assert shown <= targets
    assert {"demo", "test"} <= shown


@pytest.mark.parametrize("page", PAGES)
def test_every_link_leads_to_a_file(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    links = [link.split("#")[0] for link in re.findall(r"\]\(([^)]+)\)", text) if not link.startswith("http")]
    assert [link for link in links if link and not ((ROOT / page).parent / link).exists()] == []


def test_the_house_map_names_folders_that_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = re.findall(r"^\| `([a-z_/]+)`", text, re.MULTILINE)
    assert folders
    assert [folder for folder in folders if not (ROOT / folder).is_dir()] == []


def test_continuous_integration_calls_what_the_readme_says() -> None:
    assert "make test" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
