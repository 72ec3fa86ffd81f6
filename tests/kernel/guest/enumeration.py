"""Who the card is, how its link stands, what its registers hold: by the tool and by lspci."""

from __future__ import annotations

import json
import os
from dataclasses import asdict

from burnin.card.capabilities import LinkEnd
from burnin.core.reading import NotMeasured, known
from tests.kernel.guest.place import CARD, DEVICES, card, port
from tests.kernel.guest.saying import OUT, outside, say

_NOBODY = 65534


def carry_out() -> None:
    """Identity, link and registers of both ends, with every privilege and with none."""
    there = card()
    identity = there.identity()
    say(
        "identity",
        tool={k: v for k, v in asdict(identity).items() if not isinstance(v, dict)},
        not_told=[k for k, v in vars(identity).items() if isinstance(v, NotMeasured)],
        lspci=outside("lspci", "-vmmnnkD", "-s", CARD),
        regions=outside("lspci", "-vv", "-s", CARD),
    )
    link = there.link()
    position = there.position()
    say(
        "link",
        card=_end(link.card),
        port=_end(link.port) if isinstance(link.port, LinkEnd) else None,
        place=None if isinstance(position, NotMeasured) else asdict(position),
        lspci_card=outside("lspci", "-vv", "-s", CARD),
        lspci_port=outside("lspci", "-vv", "-s", port()),
        port_address=port(),
    )
    for end, address in (("card", CARD), ("port", port())):
        space = there.configuration_space_at(end)
        assert not isinstance(space, NotMeasured)
        errors = known(space.errors())
        say(
            "registers",
            end=end,
            tool=space.data,
            lspci=outside("lspci", "-xxxx", "-s", address),
            decoded=outside("lspci", "-vvv", "-s", address),
            payload=space.max_payload_bytes(),
            kind=space.port_type(),
            serial=space.serial_number(),
            lane_errors=space.lane_errors(),
            margining=space.lane_margining(),
            errors=None if errors is None else asdict(errors),
            status=space.device_status(),
        )
    _without_privilege()


def _end(end: LinkEnd) -> dict[str, object]:
    return {k: v for k, v in vars(end).items() if k != "source"}


def _without_privilege() -> None:
    """The same in a process of nobody's; it tells through a file that is opened before."""
    with (OUT / "nobody.json").open("w") as file:
        child = os.fork()
        if not child:
            os.setgroups([])
            os.setresgid(_NOBODY, _NOBODY, _NOBODY)
            os.setresuid(_NOBODY, _NOBODY, _NOBODY)
            there = card()
            space = there.configuration_space()
            assert not isinstance(space, NotMeasured)
            serial = space.serial_number()
            told = {
                "bytes": space.data.hex(),
                "kernel_bytes": (DEVICES / CARD / "config").read_bytes().hex(),
                "serial": serial.reason.code if isinstance(serial, NotMeasured) else serial,
                "link": known(there.link().card.width_lanes),
                "vendor": there.identity().vendor_id,
            }
            file.write(json.dumps(told))
            file.flush()
            os._exit(0)
        _, code = os.waitpid(child, 0)
    say("nobody", code=code, **json.loads((OUT / "nobody.json").read_text() or "{}"))
