"""`setwright licences`."""

from __future__ import annotations

import json

import click


@click.command("licences", epilog="\b\nExample:\n  setwright licences\n  setwright licences --json")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
def command(as_json: bool) -> None:
    """List the packages this program runs on, with version and licence, as they are installed here."""
    from pipeline.keep.licences import read_licences

    found = read_licences()
    if as_json:
        click.echo(json.dumps([vars(one) for one in found], indent=1))
        return
    width = max((len(one.package) for one in found), default=0)
    for one in found:
        click.echo(f"{one.package:{width}}  {one.version:14}  {one.licence}")
