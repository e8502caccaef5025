"""The parse cache: faster, and otherwise as if it were not there."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.errors import InputError
from assess.store import parse_cache
from assess.store.yaml_file import YamlDoc, read_yaml

BODY = b"# assess rubric 1\nwords: {1: low, 2: high}\nnames: {'1': low}\nlist: [1.5, true, null, NO]\n"


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def rubric(tmp_path: Path) -> Path:
    path = tmp_path / "r.yaml"
    path.write_bytes(BODY)
    return path


def read(path: Path) -> YamlDoc:
    return read_yaml(path, shown="r.yaml", what="rubric")


def kept(cache: Path) -> list[Path]:
    return [path for path in cache.rglob("*") if path.is_file()]


def test_a_second_reading_gives_the_same_without_the_yaml_parser(
    cache: Path, rubric: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = read(rubric)
    monkeypatch.setattr("assess.store.yaml_file._Build", None)
    second = read(rubric)
    assert second == first
    assert [type(key) for key in second.data["words"]] == [int, int]
    assert [type(key) for key in second.data["names"]] == [str]
    assert len(kept(cache)) == 1


def test_deleting_the_cache_is_harmless(cache: Path, rubric: Path) -> None:
    first = read(rubric)
    for path in kept(cache):
        path.unlink()
    assert read(rubric) == first


def test_damage_anywhere_in_a_cache_file_is_harmless(cache: Path, rubric: Path) -> None:
    first = read(rubric)
    [file] = kept(cache)
    whole = file.read_bytes()
    for place in range(0, len(whole), 7):
        file.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        assert read(rubric) == first
        file.write_bytes(whole[:place])
        assert read(rubric) == first


def test_a_cache_file_under_another_name_is_not_believed(cache: Path, rubric: Path) -> None:
    first = read(rubric)
    [file] = kept(cache)
    other = rubric.with_name("other.yaml")
    other.write_bytes(b"# assess rubric 1\nwords: {1: bad}\n")
    digest = read(other).sha256
    file.with_name(f"{digest}.json").write_bytes(file.read_bytes())
    assert read(other).data == {"words": {1: "bad"}}
    assert read(rubric) == first


@pytest.mark.parametrize("stands", ["file", "unwritable"])
def test_a_cache_folder_that_cannot_be_written_is_harmless(cache: Path, rubric: Path, stands: str) -> None:
    if stands == "file":
        cache.write_bytes(b"in the way")
    else:
        cache.mkdir()
        cache.chmod(0o500)
    assert read(rubric).data["words"] == {1: "low", 2: "high"}
    assert read(rubric).data["words"] == {1: "low", 2: "high"}


def test_a_write_that_fails_half_way_leaves_no_file_behind(
    cache: Path, rubric: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    assert read(rubric).data["words"] == {1: "low", 2: "high"}
    assert kept(cache) == []


def test_what_cannot_be_read_is_never_kept(cache: Path, rubric: Path) -> None:
    rubric.write_bytes(BODY + b"words: again\n")
    for _ in range(2):
        with pytest.raises(InputError, match="stands twice"):
            read(rubric)
    assert kept(cache) == []


def test_a_kept_file_still_has_to_be_of_the_kind_asked_for(cache: Path, rubric: Path) -> None:
    read(rubric)
    with pytest.raises(InputError, match="this is a rubric file, not a course file"):
        read_yaml(rubric, what="course")


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**18), 10**18) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])) | st.integers(), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(data=VALUES)
def test_what_is_kept_comes_back_the_same_type_for_type(data: object, tmp_path_factory: pytest.TempPathFactory) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("ASSESS_CACHE_DIR", str(tmp_path_factory.getbasetemp() / "kept"))
        parse_cache.remember("ab" * 32, data, {"a.b": 3})
        assert repr(parse_cache.recall("ab" * 32)) == repr((data, {"a.b": 3}))
