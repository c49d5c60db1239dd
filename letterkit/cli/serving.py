"""`letterkit serve` and `letterkit settings`."""

from __future__ import annotations

import click

from letterkit.cli.common import told_plainly
from letterkit.settings import PREFIX, Settings, load_settings


@click.command()
@click.option("--host", help="Address to listen on; default: this machine only.")
@click.option("--port", type=click.IntRange(0, 65535))
@click.option("--workers", type=click.IntRange(1, 64), help="Worker processes.")
@click.option("--records", metavar="URL", help="Database URL of the records.")
@click.option("--stateless", is_flag=True, default=None, help="Store nothing: only checks, readings and previews.")
def serve(
    host: str | None,
    port: int | None,
    workers: int | None,
    records: str | None,
    stateless: bool | None,  # noqa: FBT001 - click passes options by name
) -> None:
    """Run the HTTP service until it is stopped; a request in progress is finished first."""
    with told_plainly("settings"):
        settings = load_settings(host=host, port=port, workers=workers, records=records, stateless=stateless)
        from letterkit.service.serve import run

        run(settings)


@click.command()
@click.option("--explain", is_flag=True, help="Say what each setting is for.")
def settings(explain: bool) -> None:  # noqa: FBT001 - click passes options by name
    """Print the settings in effect, without secrets. Each can be set as LETTERKIT_NAME or in letterkit.toml."""
    with told_plainly("settings"):
        effective = load_settings()
    for name, value in effective.shown().items():
        click.echo(f"{PREFIX}{name.upper()}={value}")
        if explain:
            click.echo(f"    {Settings.model_fields[name].description}")
