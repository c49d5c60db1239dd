"""The command `letterkit`: a table of commands, each imported when it is called, so that help comes at once."""

from __future__ import annotations

import gc
import sys
from importlib import import_module

import click

# name: (module, function, one line of help). The help stands here because asking a command for it would import it.
COMMANDS: dict[str, tuple[str, str, str]] = {
    "draft": ("letterkit.cli.drafting", "draft", "Draft letters from encounters."),
    "approve": ("letterkit.cli.approving", "approve", "Make a final letter of a draft that a clinician has checked."),
    "check": ("letterkit.cli.checking", "check", "Show the queries about an encounter."),
    "letterhead": ("letterkit.cli.letterhead", "letterhead", "Check a clinic's letterhead and see a sample page."),
    "bulk": ("letterkit.cli.bulk", "bulk", "Draft letters from a sheet of encounters."),
    "worker": ("letterkit.cli.bulk_worker", "worker", "Take part in bulk runs from a further machine."),
    "sheet": ("letterkit.cli.bulk_sheet", "sheet", "Make a sheet to fill in, or see how one is read."),
    "read": ("letterkit.cli.reading", "read", "Read a pasted note into findings."),
    "schema": ("letterkit.cli.documents", "schema", "Print the JSON Schema of an encounter."),
    "catalogue": ("letterkit.cli.documents", "catalogue", "Print the examination: items, sites, problems."),
    "rules": ("letterkit.cli.documents", "rules", "Print the query rules."),
    "serve": ("letterkit.cli.serving", "serve", "Run the HTTP service."),
    "settings": ("letterkit.cli.serving", "settings", "Print the settings in effect."),
    "records": ("letterkit.cli.recording", "records", "Prove, back up, restore, erase and retain stored letters."),
    "keys": ("letterkit.cli.recording", "keys", "Make, list and revoke API keys."),
    "people": ("letterkit.cli.recording", "people", "Add people with a password and a role."),
}


# Objects made before the collector looks for cycles. A start makes hundreds of thousands that stay; going over them
# after every 700, which is usual, takes a fourteenth of it.
_COLLECT_AFTER = (50_000, 10, 10)


class LazyGroup(click.Group):
    """A group whose commands are imported on use."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """The names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as above
        """The command of that name, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module, function, _ = COMMANDS[cmd_name]
        command: click.Command = getattr(import_module(module), function)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, with the nearest known name where there is no such command."""
        name = args[0] if args else ""
        if name not in COMMANDS and not name.startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(name, COMMANDS, n=1)
            hint = f" Did you mean {near[0]}?" if near else f" Commands: {', '.join(COMMANDS)}."
            ctx.fail(f"no command {name!r}.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - as above
        """Lists the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, _, line) in COMMANDS.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="letterkit", prog_name="letterkit")
def cli() -> None:
    """Turn the recorded findings of a hand and wrist examination into a draft clinic letter."""


def main() -> None:
    """Runs the command line; errors made on purpose are one line each on standard error, without a traceback."""
    gc.set_threshold(*_COLLECT_AFTER)
    try:
        cli()
    except BrokenPipeError:
        # The reader of our output went away; Python would complain at exit unless standard output is closed here.
        sys.stderr.close()
        sys.exit(141)
