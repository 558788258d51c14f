"""Files in and out: read when asked, replaced whole or not at all."""

import io
import os
import stat
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from flipreg.cli.file_error import FileError
from flipreg.cli.files import replace_file, write_into
from flipreg.cli.program_file import open_program
from flipreg.errors import FlipregError
from flipreg.rs274.read.lines import CHUNK_BYTES


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def failing_parts() -> Iterator[bytes]:
    yield b"half of "
    raise OSError(28, "No space left on device")


def test_a_new_file_is_written(tmp_path: Path) -> None:
    replace_file(str(tmp_path / "back.ngc"), [b"G0 ", b"", b"X1\n"])
    assert (tmp_path / "back.ngc").read_bytes() == b"G0 X1\n"
    assert names_in(tmp_path) == ["back.ngc"]


def test_a_new_file_gets_the_mode_that_any_new_file_gets(tmp_path: Path) -> None:
    (tmp_path / "usual").write_bytes(b"")
    replace_file(str(tmp_path / "back.ngc"), [b"G0 X1\n"])
    assert (tmp_path / "back.ngc").stat().st_mode == (tmp_path / "usual").stat().st_mode


@pytest.mark.parametrize("mode", [0o600, 0o644, 0o755])
def test_a_replaced_file_keeps_its_mode(mode: int, tmp_path: Path) -> None:
    target = tmp_path / "back.ngc"
    target.write_bytes(b"old and longer")
    target.chmod(mode)
    replace_file(str(target), [b"new"])
    assert target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == mode


def test_a_file_that_fails_half_way_leaves_the_old_one_and_nothing_else(tmp_path: Path) -> None:
    target = tmp_path / "back.ngc"
    target.write_bytes(b"old")
    with pytest.raises(FileError, match=r"back\.ngc: cannot be written: no space left on device"):
        replace_file(str(target), failing_parts())
    assert target.read_bytes() == b"old"
    assert names_in(tmp_path) == ["back.ngc"]


def test_a_reader_of_the_old_file_never_sees_half_of_the_new_one(tmp_path: Path) -> None:
    target = tmp_path / "back.ngc"
    target.write_bytes(b"old")
    with target.open("rb") as reader:
        replace_file(str(target), [b"new ", b"text"])
        assert reader.read() == b"old"


def test_a_symbolic_link_stays_one_and_its_target_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "programs").mkdir()
    target, link = tmp_path / "programs" / "back.ngc", tmp_path / "link.ngc"
    target.write_bytes(b"old")
    link.symlink_to("programs/back.ngc")
    replace_file(str(link), [b"new"])
    assert link.is_symlink()
    assert target.read_bytes() == b"new"
    assert names_in(tmp_path / "programs") == ["back.ngc"]


def test_a_link_to_nothing_makes_its_target(tmp_path: Path) -> None:
    (tmp_path / "link.ngc").symlink_to("new.ngc")
    replace_file(str(tmp_path / "link.ngc"), [b"new"])
    assert (tmp_path / "link.ngc").is_symlink()
    assert (tmp_path / "new.ngc").read_bytes() == b"new"


@pytest.mark.parametrize(
    ("name", "reason"),
    [("", "it is a directory"), ("missing/back.ngc", "no such file or directory"), ("a" * 300, "file name too long")],
)
def test_a_place_that_cannot_be_written_is_told_in_one_line(name: str, reason: str, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=f"cannot be written: {reason}") as caught:
        replace_file(str(tmp_path / name), [b"new"])
    assert "\n" not in str(caught.value)
    assert names_in(tmp_path) == []


def test_a_name_may_be_as_long_as_names_may_be(tmp_path: Path) -> None:
    name = "a" * 251 + ".ngc"
    replace_file(str(tmp_path / name), [b"new"])
    assert (tmp_path / name).read_bytes() == b"new"


def test_what_is_no_file_is_written_to_and_not_replaced(tmp_path: Path) -> None:
    # /dev/null and the like: replacing a device by a file would spoil it for everybody.
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()), daemon=True)
    reader.start()
    replace_file(str(pipe), [b"G0 ", b"X1\n"])
    reader.join(5)
    assert read == [b"G0 X1\n"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_file_error_is_an_error_of_the_package_and_of_the_system() -> None:
    assert issubclass(FileError, FlipregError)
    assert issubclass(FileError, OSError)


def test_a_file_is_read_in_pieces(tmp_path: Path) -> None:
    text = bytes(range(256)) * (CHUNK_BYTES // 100)
    (tmp_path / "front.ngc").write_bytes(text)
    program = open_program(str(tmp_path / "front.ngc"), io.BytesIO(b"not this"))
    pieces = list(program.pieces())
    assert b"".join(pieces) == text
    assert max(map(len, pieces)) <= CHUNK_BYTES
    assert list(program.pieces()) == pieces
    assert program.source == str(tmp_path / "front.ngc")


def test_a_dash_is_standard_input() -> None:
    program = open_program("-", io.BytesIO(b"G0 X1\n"))
    assert program.source == "<stdin>"
    assert [b"".join(program.pieces()) for _ in range(2)] == [b"G0 X1\n"] * 2


@pytest.mark.parametrize(("name", "reason"), [("", "is a directory"), ("missing.ngc", "no such file or directory")])
def test_a_file_that_cannot_be_read_is_told_when_it_is_read(name: str, reason: str, tmp_path: Path) -> None:
    program = open_program(str(tmp_path / name), io.BytesIO())
    with pytest.raises(FileError, match=f"{program.source}: cannot be read: {reason}"):
        list(program.pieces())


class TestSeveralFiles:
    def test_all_of_them_are_written_into_a_folder_that_is_made(self, tmp_path: Path) -> None:
        folder = tmp_path / "left"
        written = write_into(str(folder), [("a.nc", [b"G0 ", b"X1\n"]), ("b.nc", [b"G0 X2\n"])])
        assert written == (str(folder / "a.nc"), str(folder / "b.nc"))
        assert [(folder / name).read_bytes() for name in ("a.nc", "b.nc")] == [b"G0 X1\n", b"G0 X2\n"]
        assert names_in(folder) == ["a.nc", "b.nc"]

    def test_one_that_fails_half_way_leaves_every_old_one_and_nothing_else(self, tmp_path: Path) -> None:
        (tmp_path / "a.nc").write_bytes(b"old a")
        (tmp_path / "b.nc").write_bytes(b"old b")
        with pytest.raises(FileError, match=r"b\.nc: cannot be written: no space left on device"):
            write_into(str(tmp_path), [("a.nc", [b"new a"]), ("b.nc", failing_parts()), ("c.nc", [b"new c"])])
        assert [(tmp_path / name).read_bytes() for name in ("a.nc", "b.nc")] == [b"old a", b"old b"]
        assert names_in(tmp_path) == ["a.nc", "b.nc"]

    def test_a_folder_that_was_made_for_nothing_is_taken_away(self, tmp_path: Path) -> None:
        with pytest.raises(FileError):
            write_into(str(tmp_path / "left"), [("a.nc", [b"new a"]), ("b.nc", failing_parts())])
        assert names_in(tmp_path) == []

    def test_one_that_cannot_be_a_file_is_told_before_anything_is_written(self, tmp_path: Path) -> None:
        (tmp_path / "a.nc").write_bytes(b"old a")
        (tmp_path / "b.nc").mkdir()
        with pytest.raises(FileError, match=r"b\.nc: cannot be written: it is a directory"):
            write_into(str(tmp_path), [("a.nc", [b"new a"]), ("b.nc", [b"new b"])])
        assert (tmp_path / "a.nc").read_bytes() == b"old a"
        assert names_in(tmp_path) == ["a.nc", "b.nc"]

    def test_all_are_on_the_disk_before_the_first_gets_its_name(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        seen: list[tuple[str, list[bytes]]] = []
        rename = os.replace

        def watch(source: str, target: Path) -> None:
            seen.append((target.name, sorted(path.read_bytes() for path in tmp_path.iterdir())))
            rename(source, target)

        monkeypatch.setattr("flipreg.cli.files.os.replace", watch)
        write_into(str(tmp_path), [("a.nc", [b"new a"]), ("b.nc", [b"new b"])])
        assert seen == [("a.nc", [b"new a", b"new b"]), ("b.nc", [b"new a", b"new b"])]

    def test_two_names_of_one_file_are_told(self, tmp_path: Path) -> None:
        (tmp_path / "a.nc").write_bytes(b"old a")
        (tmp_path / "b.nc").symlink_to("a.nc")
        with pytest.raises(FileError, match=r"b\.nc: cannot be written: it is another name of a file before it"):
            write_into(str(tmp_path), [("a.nc", [b"new a"]), ("b.nc", [b"new b"])])
        assert (tmp_path / "a.nc").read_bytes() == b"old a"

    def test_a_folder_that_is_a_file_or_lies_nowhere_is_told(self, tmp_path: Path) -> None:
        (tmp_path / "a.nc").write_bytes(b"old a")
        with pytest.raises(FileError, match=r"a\.nc: cannot be written into: it is a file, not a folder"):
            write_into(str(tmp_path / "a.nc"), [("b.nc", [b"new"])])
        with pytest.raises(FileError, match="left: cannot be made: no such file or directory"):
            write_into(str(tmp_path / "no" / "left"), [("b.nc", [b"new"])])
        assert names_in(tmp_path) == ["a.nc"]
