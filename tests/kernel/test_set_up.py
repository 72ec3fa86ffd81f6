"""What hides something: found where a real kernel was told to hide it, and only there."""

from __future__ import annotations

from tests.kernel.one_boot import Said, Told

HIDING = "pci=noaer video=Virtual-1:e"
"""What the kernel is started with for these tests (kernel-parameters.rst, modedb.rst)."""


def _whats(told: Told) -> list[str]:
    return [one["what"]["code"] for one in told["found"]]


def test_a_bench_that_hides_nothing_is_left_in_peace(said: Said) -> None:
    told = said.one("set_up")
    assert told["aer_files"]
    assert told["services"]
    assert _whats(told) == []


def test_options_of_the_kernel_are_named_with_what_they_took_away(said_in_hiding: Said) -> None:
    told = said_in_hiding.one("set_up")
    options = [one["what"]["option"] for one in told["found"] if "option" in one["what"]]
    assert options == HIDING.split()
    assert all(option in told["command_line"] for option in options)


def test_errors_that_the_kernel_does_not_count_are_missed_at_both_ends(
    said_in_hiding: Said,
) -> None:
    told = said_in_hiding.one("set_up")
    assert told["has_aer"]
    assert told["aer_files"], "the files are there all the same, and stand at nought"
    assert told["services"] == []
    ends = [one["what"]["end"] for one in told["found"] if "end" in one["what"]]
    assert ends == ["card", "port"]


def test_a_counter_that_nobody_moves_is_no_zero(said_in_hiding: Said) -> None:
    told = said_in_hiding.one("set_up")
    assert told["moved"] is False, "the kernel counted: nothing is shown here"
    assert told["counters"] == {"not_measured": {"code": "linux_errors_not_taken",
                                                 "port": told["port"]}}  # fmt: skip


def test_an_output_that_the_command_line_forced_is_seen(said_in_hiding: Said) -> None:
    told = said_in_hiding.one("set_up")
    assert told["force"] == "on"
    assert "hides_output_forced" in _whats(told)
