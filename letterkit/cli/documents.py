"""Commands that print what the package holds: `schema`, `catalogue`, `rules`."""

from __future__ import annotations

import json

import click


@click.command()
def schema() -> None:
    """Print the JSON Schema (2020-12) of an encounter."""
    from letterkit.findings.schema import encounter_schema

    click.echo(json.dumps(encounter_schema(), ensure_ascii=False, indent=2))


@click.command()
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="For machines.")
def catalogue(words: tuple[str, ...], as_json: bool) -> None:  # noqa: FBT001 - click passes options by name
    """Print the items of the examination, all or those that match WORDS in name, slug or synonym."""
    from letterkit.catalogue import catalogue as known
    from letterkit.catalogue.page import item_lines, matching

    items = matching(known(), " ".join(words))
    if not items:
        raise click.ClickException(f"no item matches {' '.join(words)!r}")
    if as_json:
        click.echo(json.dumps([item.model_dump(mode="json", exclude_defaults=True) for item in items], indent=2,
                              ensure_ascii=False, default=sorted))  # fmt: skip
        return
    for item in items:
        for line in item_lines(item, known()):
            click.echo(line)


@click.command()
@click.option("--json", "as_json", is_flag=True, help="For machines.")
def rules(as_json: bool) -> None:  # noqa: FBT001 - click passes options by name
    """Print the query rules with what each asks, why, and from where."""
    from letterkit.consistency.registry import rules as known

    if as_json:
        found = [
            {"rule": each.slug, "class": each.query_class.value, "family": each.family, "asks": each.asks,
             "rationale": each.rationale, "settle": each.settle, "source": each.source}
            for each in known()
        ]  # fmt: skip
        click.echo(json.dumps(found, ensure_ascii=False, indent=2))
        return
    for each in known():
        click.echo(f"{each.slug} ({each.query_class.value})\n  {each.asks}\n  Source: {each.source}")
