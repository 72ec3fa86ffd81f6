"""The fuzzer itself: it finds what it should find, and what it found leads it on."""

from __future__ import annotations

from pathlib import Path

from burnin.card.edid.base_block import parse_edid
from burnin.core.errors import BadInput
from tests.fuzz.loop import Summary, Uncaught, fuzz, put_away
from tests.fuzz.shards import fuzz_in_shards
from tests.fuzz.target import Files, Target, of_bytes


def test_an_error_that_is_none_of_ours_is_told_with_its_input(tmp_path: Path) -> None:
    def read(data: bytes) -> None:
        if b"\xff" in data:
            raise KeyError("planted")
        if data[:1] == b"\0":
            raise BadInput("refused in words")

    found = fuzz(of_bytes("planted", lambda: [b"abc"], read), tmp_path, inputs=3000, seed=1)
    assert [one.what for one in found.uncaught.values()] == ["KeyError: 'planted'"]
    assert all(b"\xff" in one.input_["in"] for one in found.uncaught.values())
    assert found.refused > 0


def test_a_reader_that_writes_is_told(tmp_path: Path) -> None:
    def read(room: Path, given: Files) -> None:
        (room / "left behind").write_bytes(b"x")

    target = Target("writes", lambda _: [{"a": b"1"}], read)
    found = fuzz(target, tmp_path, inputs=3, seed=1)
    assert any("left behind" in one.what for one in found.uncaught.values())


def test_new_ways_through_the_code_are_found_and_kept(tmp_path: Path) -> None:
    few = fuzz(of_bytes("e", lambda: [b"\0" * 128], parse_edid), tmp_path, inputs=1, seed=1)
    many = fuzz(of_bytes("e", lambda: [b"\0" * 128], parse_edid), tmp_path, inputs=3000, seed=1)
    assert many.arcs > few.arcs + 10


def test_the_same_seed_makes_the_same_inputs(tmp_path: Path) -> None:
    def once(place: str) -> list[bytes]:
        seen: list[bytes] = []
        fuzz(of_bytes("s", lambda: [b"abc"], seen.append), tmp_path / place, inputs=200, seed=7)
        return seen

    assert once("a") == once("b")


def test_what_is_kept_stays_below_its_folder(tmp_path: Path) -> None:
    names = ("/sys/bus/pci/x", "../../x", "a/../../b", "//x")
    found = Summary("t", uncaught={"x": Uncaught("x", "y", dict.fromkeys(names, b"1"))})
    put_away(found, tmp_path / "kept")
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]
    assert {path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == {b"1"}


def test_what_an_earlier_run_found_is_tried_first(tmp_path: Path) -> None:
    """A second run knows the ways of the first without having to find them."""
    how = {"inputs": 300, "shards": 1, "most_s": 60.0, "corpus": tmp_path / "corpus"}
    first = fuzz_in_shards("edid", seed=1, **how)  # type: ignore[arg-type]
    how["inputs"] = len(list((tmp_path / "corpus" / "edid").iterdir())) + 30
    again = fuzz_in_shards("edid", seed=2, **how)  # type: ignore[arg-type]
    assert again.arcs >= first.arcs > 0
