"""What is made of the package's data and kept beside its compiled modules: it is what would be made anew, or it is not
used."""

from __future__ import annotations

import errno
import io
import os
import sys
from dataclasses import fields
from importlib import resources
from pathlib import Path

import pytest

from letterkit import kept as kept_module
from letterkit.catalogue import Catalogue, catalogue, load
from letterkit.catalogue.american import american
from letterkit.catalogue.traps import traps
from letterkit.reading.vocabulary import shipped_vocabulary, vocabulary
from letterkit.reading.words import words


class Made:
    """Counts how often it was made; what it makes says which."""

    def __init__(self):
        self.times = 0

    def __call__(self) -> list[str]:
        self.times += 1
        return [f"made {self.times}"]


def kept(*given):
    """As another process would have it, which reads the package's files anew."""
    kept_module._of_folder.cache_clear()
    return kept_module.kept(*given)


@pytest.fixture
def package(tmp_path, monkeypatch) -> Path:
    """A package of its own with one file of data."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)
    name = f"kept_{tmp_path.name}"
    folder = tmp_path / name
    (folder / "data").mkdir(parents=True)
    (folder / "__init__.py").write_text("")
    (folder / "data" / "words.toml").write_text("a = 1\n")
    monkeypatch.syspath_prepend(str(tmp_path))
    yield folder
    sys.modules.pop(name, None)


def _files(package: Path) -> list[Path]:
    return sorted(package.rglob("*.kept*"))


def test_it_is_made_once(package):
    make = Made()
    assert kept("words", (package.name,), make) == kept("words", (package.name,), make) == ["made 1"]
    assert [file.parent.name for file in _files(package)] == ["__pycache__"]


def test_nobody_else_may_write_it(package):
    (package / "__pycache__").mkdir()
    (package / "__pycache__").chmod(0o777)
    kept("words", (package.name,), Made())
    (file,) = _files(package)
    assert file.stat().st_mode & 0o777 == 0o644


def test_two_names_are_two(package):
    make = Made()
    assert kept("words", (package.name,), make) != kept("phrases", (package.name,), make)
    assert len(_files(package)) == 2


def test_changed_data_of_the_same_size_and_time_are_seen(package):
    make, data = Made(), package / "data" / "words.toml"
    kept("words", (package.name,), make)
    before = data.stat()
    data.write_text("a = 2\n")
    os.utime(data, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert kept("words", (package.name,), make) == ["made 2"]
    assert kept("words", (package.name,), make) == ["made 2"]
    assert len(_files(package)) == 1


@pytest.mark.parametrize("name", ["data/more.toml", "code.py"])
def test_a_new_file_is_seen(package, name):
    make = Made()
    kept("words", (package.name,), make)
    (package / name).write_text("")
    assert kept("words", (package.name,), make) == ["made 2"]


def test_what_moves_from_one_file_to_the_next_is_seen(package):
    make, data = Made(), package / "data" / "words.toml"
    (package / "data" / "zones.toml").write_text("b = 1\n")
    kept("words", (package.name,), make)
    data.write_text("a = 1\nb = 1\n")
    (package / "data" / "zones.toml").write_text("")
    assert kept("words", (package.name,), make) == ["made 2"]


@pytest.mark.parametrize("cut", [0, 10, 70, -1])
def test_a_torn_file_is_made_anew(package, cut):
    make = Made()
    kept("words", (package.name,), make)
    (file,) = _files(package)
    file.write_bytes(file.read_bytes()[:cut])
    assert kept("words", (package.name,), make) == ["made 2"]
    assert kept("words", (package.name,), make) == ["made 2"]


def test_a_changed_byte_is_seen(package):
    make = Made()
    kept("words", (package.name,), make)
    (file,) = _files(package)
    content = bytearray(file.read_bytes())
    content[-8] ^= 1
    file.write_bytes(content)
    assert kept("words", (package.name,), make) == ["made 2"]


def test_python_told_to_write_none_writes_none_and_reads_what_is_there(package, monkeypatch):
    make = Made()
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert kept("words", (package.name,), make) == ["made 1"]
    assert not _files(package)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    assert kept("words", (package.name,), make) == ["made 2"]
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert kept("words", (package.name,), make) == ["made 2"]


def test_where_nothing_can_be_written_it_is_made_each_time(package):
    (package / "__pycache__").write_text("a file where the folder should be")
    make = Made()
    assert kept("words", (package.name,), make) == ["made 1"]
    assert kept("words", (package.name,), make) == ["made 2"]
    assert not _files(package)


def test_no_file_is_left_half_written(package):
    (package / "__pycache__").mkdir()
    (package / "__pycache__" / f"words.{sys.implementation.cache_tag}.kept").mkdir()  # nothing can take its place
    assert kept("words", (package.name,), Made()) == ["made 1"]
    assert [file.is_dir() for file in _files(package)] == [True]


def test_a_full_disk_leaves_no_part_of_it(package, monkeypatch):
    class Full(io.BytesIO):
        def write(self, content):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("letterkit.kept.os.fdopen", lambda descriptor, mode: os.close(descriptor) or Full())
    assert kept("words", (package.name,), Made()) == ["made 1"]
    assert not _files(package)


def test_it_stands_where_compiled_modules_are_told_to_stand(package, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path / "elsewhere"))
    kept("words", (package.name,), Made())
    assert not _files(package)
    assert len(_files(tmp_path / "elsewhere")) == 1


def test_an_error_in_making_is_told_and_nothing_kept(package):
    def broken() -> list[str]:
        raise ValueError("broken data")

    with pytest.raises(ValueError, match="broken data"):
        kept("words", (package.name,), broken)
    assert not _files(package)


def _tables(told: Catalogue) -> dict[str, object]:
    tables = {each.name: getattr(told, each.name) for each in fields(told)}
    return {name: dict(table) if "terms" in name else list(table.items()) for name, table in tables.items()}


def test_the_catalogue_kept_is_the_catalogue_made():
    made = load(resources.files("letterkit.catalogue") / "data")
    assert _tables(catalogue()) == _tables(made)
    assert _tables(american(catalogue())) == _tables(american(made))


@pytest.mark.parametrize("language", ["en-GB", "en-US"])
def test_the_vocabulary_kept_is_the_vocabulary_made(language):
    told, made = shipped_vocabulary(language), vocabulary(catalogue(), traps(), words(), language)
    assert told.phrases.keys() == made.phrases.keys()
    assert all(_meaning(told.phrases[phrase]) == _meaning(made.phrases[phrase]) for phrase in made.phrases)
    for name in ("clinical", "correctable", "plain", "by_shape", "parts"):
        assert getattr(told, name) == getattr(made, name)


def _meaning(entry) -> tuple[object, ...]:
    return tuple(getattr(entry, each.name) for each in fields(entry))


@pytest.mark.parametrize("language", ["en-GB", "en-US"])
def test_each_phrase_is_found_by_a_word_of_its_own(language):
    known = shipped_vocabulary(language)
    found = [(word, phrase) for word, phrases in known.by_rarest.items() for phrase in phrases]
    assert sorted(phrase for _, phrase in found) == sorted(known.phrases)
    assert all(word in phrase.split(" ") for word, phrase in found)
