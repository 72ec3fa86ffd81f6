"""Every way in which a small file fails to be a value, in words a technician can use."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.attributes import REASONS, Attributes, why
from burnin.card.files import HostFiles
from burnin.core.reading import NotMeasured


class Answering:
    """Files that hold one content, or refuse with one error, whatever their path."""

    def __init__(self, answer: bytes | OSError) -> None:
        self.answer = answer

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        if isinstance(self.answer, OSError):
            raise self.answer
        assert path.startswith("/f/")
        return self.answer[:limit]

    def list_folder(self, path: str) -> list[str]:
        raise FileNotFoundError(errno.ENOENT, "gone", path)

    def resolve(self, path: str) -> str:
        return path


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("ENOENT", "the system does not offer it"),
        ("EACCES", "no permission"),
        ("EPERM", "no permission"),
        ("EIO", "input/output error"),
        ("ENODATA", "no data"),
        ("EAGAIN", "no data"),
        ("ENODEV", "gone"),
        ("ENXIO", "gone"),
        ("EBUSY", "busy"),
        ("ETIMEDOUT", "in time"),
        ("EINVAL", "does not support"),
        ("EOPNOTSUPP", "does not support"),
        ("ENOTDIR", "does not offer"),
        ("EISDIR", "folder"),
        ("ELOOP", "loops"),
    ],
)
def test_every_error_has_its_words(number: str, words: str) -> None:
    code: int = getattr(errno, number)
    value = Attributes(Answering(OSError(code, "x")), "/f").integer("temp1_input")
    assert isinstance(value, NotMeasured)
    assert words in value.reason
    assert "temp1_input" in value.reason


def test_the_table_of_errors_is_tested_whole() -> None:
    tested = {
        *("ENOENT", "EACCES", "EPERM", "EIO", "ENODATA", "EAGAIN", "ENODEV", "ENXIO", "EBUSY"),
        *("ETIMEDOUT", "EINVAL", "EOPNOTSUPP", "ENOTDIR", "EISDIR", "ELOOP"),
    }
    assert set(REASONS) == {getattr(errno, name) for name in tested}


def test_an_error_without_words_of_ours_keeps_the_systems() -> None:
    assert "Disk quota exceeded" in why(OSError(errno.EDQUOT, "Disk quota exceeded"), "x").reason
    assert why(OSError(), "x").reason


@pytest.mark.parametrize(
    "content",
    [b"", b"\n", b"abc", b"12 34", b"0x", b"1_000", b"\xff\xfe", b"1" * 30, "٤٢".encode()],
)
def test_garbage_is_no_number(content: bytes) -> None:
    value = Attributes(Answering(content), "/f").integer("fan1_input")
    assert isinstance(value, NotMeasured)
    assert "fan1_input" in value.reason
    assert len(value.reason) < 120


@pytest.mark.parametrize(
    ("content", "number"), [(b"42\n", 42), (b"-5000", -5000), (b" 7 \n\0", 7), (b"0", 0)]
)
def test_a_number_is_read(content: bytes, number: int) -> None:
    assert Attributes(Answering(content), "/f").integer("x") == number


@given(st.binary(max_size=64))
def test_no_content_is_ever_an_error(content: bytes) -> None:
    attributes = Attributes(Answering(content), "/f")
    for value in (attributes.text("x"), attributes.integer("x"), attributes.hexadecimal("x")):
        assert not isinstance(value, NotMeasured) or value.reason


def test_a_real_folder_in_a_files_place_is_named(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    value = Attributes(HostFiles(tmp_path), "").integer("folder")
    assert isinstance(value, NotMeasured)
    assert "folder where a value should be" in value.reason
