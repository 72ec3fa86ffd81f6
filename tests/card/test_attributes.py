"""Small files as values, and what is none."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.attributes import Attributes
from burnin.card.file_errors import FileReason
from burnin.card.files import HostFiles
from burnin.card.meanings import AttributeReason
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue


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
    "content",
    [b"", b"\n", b"abc", b"12 34", b"0x", b"1_000", b"\xff\xfe", b"1" * 30, "٤٢".encode()],
)
def test_garbage_is_no_number(content: bytes) -> None:
    value = Attributes(Answering(content), "/f").integer("fan1_input")
    assert isinstance(value, NotMeasured)
    assert value.reason.means(AttributeReason.EMPTY, AttributeReason.NOT_A_NUMBER)
    assert value.reason["name"] == "fan1_input"
    assert len(catalogue("en").say(value.reason)) < 120


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
    assert value == NotMeasured(FileReason.IS_FOLDER(name="folder"))
