"""The output of the card under every state and EDID: by the tool, by the kernel, by edid-decode."""

from __future__ import annotations

from pathlib import Path

from burnin.card.edid.base_block import parse_edid
from burnin.core.reading import NotMeasured
from tests.kernel.guest.edids import damaged, with_display_id, without_extension
from tests.kernel.guest.place import bound_anew, card
from tests.kernel.guest.run_there import run
from tests.kernel.guest.saying import outside, say, tell_kernel, text

OUTPUT = Path("/sys/class/drm/card0-Virtual-1")
BY_HAND = Path("/sys/kernel/debug/dri/0/Virtual-1")


def carry_out() -> None:
    """The EDID as it is, then others in its place, then the output forced off and on."""
    own = (OUTPUT / "edid").read_bytes()
    _say("own")
    for kind, data in (
        ("without_extension", without_extension(own)),
        ("two_extensions", with_display_id(own)),
        ("damaged", damaged(own)),
        ("cut", own[:100]),
    ):
        refused = tell_kernel(BY_HAND / "edid_override", data)
        tell_kernel(OUTPUT / "status", "detect")
        _say(kind, given=data, refused=refused)
    run("edid_given", only="display")
    tell_kernel(BY_HAND / "edid_override", b"reset")
    tell_kernel(OUTPUT / "status", "detect")
    for state in ("off", "on", "detect"):
        tell_kernel(OUTPUT / "status", state)
        _say(f"forced_{state}")
    run("forced_before", only="display", before=lambda: tell_kernel(OUTPUT / "status", "off"))
    tell_kernel(OUTPUT / "status", "detect")
    bound_anew()  # this driver asks for the screen's EDID once
    run(
        "forced_meanwhile",
        only="display",
        stage="display",
        act=lambda: tell_kernel(OUTPUT / "status", "off"),
    )
    tell_kernel(OUTPUT / "status", "detect")
    bound_anew()


def _say(kind: str, *, given: bytes = b"", refused: str = "") -> None:
    outputs = card().outputs()
    assert not isinstance(outputs, NotMeasured)
    (output,) = outputs
    shown = (OUTPUT / "edid").read_bytes()
    edid = parse_edid(output.edid) if isinstance(output.edid, bytes) and output.edid else None
    say(
        "screen",
        kind=kind,
        given=given,
        refused=refused,
        status=output.status,
        forced=output.forced,
        edid_set=output.edid_set,
        kernel_status=text(OUTPUT / "status"),
        kernel_force=text(BY_HAND / "force"),
        edid=output.edid,
        kernel_edid=shown,
        modes=output.modes,
        kernel_modes=text(OUTPUT / "modes").split(),
        sound=edid and edid.sound,
        problems=edid and [problem.what.code for problem in edid.problems],
        name=edid and edid.name,
        blocks=edid and [block.name for block in edid.blocks],
        preferred=edid and str(edid.preferred_mode),
        decoded=outside("edid-decode", given=shown),
        given_sound=bool(given) and parse_edid(given).sound,
        given_blocks=[block.name for block in parse_edid(given).blocks] if given else [],
        given_problems=[p.what.code for p in parse_edid(given).problems] if given else [],
        given_decoded=outside("edid-decode", given=given) if given else "",
    )
