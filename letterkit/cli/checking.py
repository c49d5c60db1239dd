"""`letterkit check`: the queries about an encounter."""

from __future__ import annotations

import json

import click

from letterkit.cli.common import read_input, told_plainly
from letterkit.cli.formats import tell_notices
from letterkit.consistency.rule import QueryClass
from letterkit.pipeline import check as check_encounter
from letterkit.pipeline import receive


@click.command()
@click.argument("case", metavar="CASE.json")
@click.option("--previous", metavar="OLD.json", help="The encounter of an earlier visit of the same patient.")
@click.option("--json", "as_json", is_flag=True, help="For machines: rule, class, message, findings, settle, source.")
def check(case: str, previous: str | None, as_json: bool) -> None:  # noqa: FBT001 - click passes options by name
    """Show the queries about an encounter. Exit code: 0 no query, 1 queries, 2 input that cannot be used."""
    with told_plainly(case):
        before, older = receive(read_input(previous)) if previous is not None else (None, ())
        encounter, notices = receive(read_input(case))
        queries = check_encounter(encounter, previous=before)
    tell_notices(case, (*notices, *older))
    if as_json:
        found = [
            {
                "rule": query.rule,
                "class": query.query_class.value,
                "message": query.message,
                "findings": list(query.paths),
                "settle": query.settle,
                "source": query.source,
            }
            for query in queries
        ]
        click.echo(json.dumps(found, ensure_ascii=False, indent=2))
    else:
        for query_class in QueryClass:
            members = [query for query in queries if query.query_class is query_class]
            if members:
                click.echo(query_class.value.capitalize())
            for query in members:
                click.echo(f"  {query.message}")
                click.echo(f"    Where: {', '.join(query.paths) or 'the record as a whole'}")
                click.echo(f"    Settled by: {query.settle}")
        click.echo(f"{len(queries)} {'query' if len(queries) == 1 else 'queries'}." if queries else "No query.")
    if queries:
        raise click.exceptions.Exit(1)
