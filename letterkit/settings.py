"""Settings of the service and the records: from the environment, then a file, then what is usual.

Every name is prefixed with `LETTERKIT_`; the file is `letterkit.toml` in the working folder, or the one that
`LETTERKIT_SETTINGS` names. A name that is not known is refused in both, since a misspelt limit would be no limit.
"""

from __future__ import annotations

import os
import tomllib
from difflib import get_close_matches
from ipaddress import ip_address
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, SecretStr, ValidationError, field_validator
from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict, TomlConfigSettingsSource
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

from letterkit.errors import InvalidInput, Problem

PREFIX = "LETTERKIT_"
FILE_VARIABLE = "LETTERKIT_SETTINGS"
DEFAULT_FILE = "letterkit.toml"
_NOT_SETTINGS = frozenset({FILE_VARIABLE, "LETTERKIT_TEST_POSTGRES"})


def _data_folder() -> Path:
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "letterkit"


def _default_records() -> SecretStr:
    return SecretStr(f"sqlite:///{_data_folder() / 'records.db'}")


class Settings(BaseSettings):
    """What may be set. Sizes are in bytes, times in seconds."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, extra="forbid", frozen=True, hide_input_in_errors=True)

    records: Annotated[SecretStr, Field(description="Database URL: sqlite:///FILE or postgresql://HOST/NAME.")] = Field(
        default_factory=_default_records
    )
    stateless: bool = Field(default=False, description="Store nothing at all: only checks, readings and previews.")
    stateless_keys: Path | None = Field(default=None, description="File of key records for a stateless service.")
    host: str = Field(default="127.0.0.1", description="Address to listen on; others than loopback need a key.")
    port: int = Field(default=8021, ge=0, le=65535, description="Port to listen on.")
    workers: int = Field(default=1, ge=1, le=64, description="Worker processes.")
    threads: int = Field(default=16, ge=1, le=64, description="Requests a worker works on at the same time.")
    stop_after: int = Field(default=30, ge=1, le=600, description="Seconds a request may still take when stopping.")
    max_body: int = Field(default=1_048_576, ge=1024, description="Largest body of a request but a sheet's.")
    max_sheet: int = Field(default=52_428_800, ge=1024, description="Largest sheet of a bulk run.")
    max_depth: int = Field(default=32, ge=8, le=200, description="Deepest nesting of a JSON body.")
    body_within: float = Field(default=30.0, gt=0, le=600, description="Seconds within which a body must have come.")
    rate_per_minute: int = Field(default=6000, ge=1, description="Requests a minute of one key, over all workers.")
    failures_per_minute: int = Field(default=10, ge=1, description="Failed authentications a minute of one address.")
    letterhead: Path | None = Field(default=None, description="The clinic's letterhead, a .docx file.")
    templates: Path | None = Field(default=None, description="Folder of letter templates that come before ours.")
    word_pages: bool = Field(default=True, description="Show pages of the Word document where LibreOffice is there.")
    bulk_folder: Path | None = Field(default=None, description="Folder of the bulk runs' files.")
    log_level: Literal["debug", "info", "warning", "error"] = Field(default="info", description="Least level logged.")

    @field_validator("records")
    @classmethod
    def _is_url(cls, value: SecretStr) -> SecretStr:
        try:
            make_url(value.get_secret_value())
        except ArgumentError:
            raise ValueError("not a database URL; give sqlite:///FILE or postgresql://HOST/NAME") from None
        return value

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the base class's signature
        file_secret_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - as above
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """What the command line gives, then the environment, then the file."""
        file = settings_file()
        toml = (TomlConfigSettingsSource(settings_cls, file),) if file else ()
        return (init_settings, env_settings, *toml)

    @property
    def runs_folder(self) -> Path:
        """Where the files of bulk runs are: as set, or beside the records."""
        if self.bulk_folder is not None:
            return self.bulk_folder
        url = make_url(self.records.get_secret_value())
        if url.drivername == "sqlite" and url.database:
            return Path(url.database).parent / "bulk-runs"
        return _data_folder() / "bulk-runs"

    @property
    def loopback(self) -> bool:
        """Whether the service listens to this machine only."""
        return is_loopback(self.host)

    def shown(self) -> dict[str, str]:
        """Every setting by name, for people to read; passwords and other secrets are not in it."""
        values = {name: getattr(self, name) for name in type(self).model_fields}
        values["records"] = make_url(self.records.get_secret_value()).render_as_string(hide_password=True)
        return {name: "" if value is None else str(value) for name, value in values.items()}


def is_loopback(host: str) -> bool:
    """Whether an address or name can be reached from this machine only."""
    if host == "localhost":
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def settings_file() -> Path | None:
    """The file of settings, or None where there is none. Raises InvalidInput for a named one that is not there."""
    named = os.environ.get(FILE_VARIABLE)
    path = Path(named or DEFAULT_FILE)
    if path.is_file():
        return path
    if named:
        raise InvalidInput((Problem(FILE_VARIABLE, f"{named!r} is not a file; correct it or unset it"),))
    return None


def _misspelt() -> list[Problem]:
    """Names of the environment that begin like ours and mean nothing: the library would pass over them."""
    known = [f"{PREFIX}{name.upper()}" for name in Settings.model_fields]
    problems = []
    for name in sorted(os.environ):
        upper = name.upper()
        if upper.startswith(PREFIX) and upper not in known and upper not in _NOT_SETTINGS:
            near = get_close_matches(upper, known, n=1)
            hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
            problems.append(Problem(name, f"no such setting; {hint}"))
    return problems


def load_settings(**given: Any) -> Settings:
    """The effective settings; `given` come before all else. Raises InvalidInput naming every setting that is wrong."""
    problems = _misspelt()
    try:
        settings = Settings(**{name: value for name, value in given.items() if value is not None})
    except ValidationError as error:
        for fault in error.errors(include_url=False, include_input=False, include_context=False):
            name = ".".join(map(str, fault["loc"]))
            message = fault["msg"].removeprefix("Value error, ")
            if fault["type"] == "extra_forbidden":
                near = get_close_matches(name, Settings.model_fields, n=1)
                message = f"no such setting; did you mean {near[0]}?" if near else "no such setting"
            problems.append(Problem(name, message))
        raise InvalidInput(tuple(problems)) from None
    except tomllib.TOMLDecodeError as error:
        raise InvalidInput((Problem(str(settings_file()), f"not TOML: {error}"),)) from None
    if problems:
        raise InvalidInput(tuple(problems))
    return settings
