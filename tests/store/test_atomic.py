"""Files that are there whole or not at all."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from assess.store.atomic import create_file, replace_file
from assess.store.disk import Disk


class Counting(Disk):
    """A real disk on which the call with a given number fails."""

    def __init__(self, at: int) -> None:
        self.at = at
        self.names: list[str] = []

    def _count(self, name: str) -> None:
        self.names.append(name)
        if len(self.names) - 1 == self.at:
            raise OSError(errno.EIO, "broken")

    def open(self, path: Path, flags: int, mode: int = 0o644) -> int:
        self._count("open")
        return super().open(path, flags, mode)

    def write(self, fd: int, data: bytes) -> int:
        self._count("write")
        # A system may take fewer bytes than it is given.
        return super().write(fd, data[:1000])

    def fsync(self, fd: int) -> None:
        self._count("fsync")
        super().fsync(fd)

    def replace(self, source: Path, target: Path) -> None:
        self._count("replace")
        super().replace(source, target)

    def sync_folder(self, path: Path) -> None:
        super().sync_folder(path)
        self._count("sync_folder")


def test_a_file_is_replaced_whole_or_not_at_all_whichever_call_fails(tmp_path: Path) -> None:
    path = tmp_path / "people.yaml"
    new = b"new\n" * 1000
    for at in range(8):
        path.write_bytes(b"old")
        path.chmod(0o600)
        disk = Counting(at)
        try:
            replace_file(path, new, disk=disk)
        except OSError:
            assert path.read_bytes() == (new if disk.names[-1] == "sync_folder" else b"old")
        else:
            pytest.fail("a call that fails is told")
        assert path.stat().st_mode & 0o777 == 0o600
        assert [p.name for p in tmp_path.iterdir()] == ["people.yaml"]
    disk = Counting(99)
    replace_file(path, new, disk=disk)
    assert disk.names == ["open", "write", "write", "write", "write", "fsync", "replace", "sync_folder"]
    assert path.read_bytes() == new


def test_a_file_is_created_only_where_nothing_stands(tmp_path: Path) -> None:
    create_file(tmp_path / "a", b"one")
    with pytest.raises(FileExistsError):
        create_file(tmp_path / "a", b"two")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("a", b"one")]
