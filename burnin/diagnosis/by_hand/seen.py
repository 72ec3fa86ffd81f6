"""Evidence as people type it where no record is: ``x8 of x16, gen 3 of 4, DP-1 dark``."""

from __future__ import annotations

import re
from dataclasses import replace

from burnin.core.errors import BadInput
from burnin.diagnosis.by_hand.refusals import ByHandRefusal
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.outputs.looks import Edid, OutputLook, Picture

_WIDTHS, _GENERATIONS = (1, 2, 4, 8, 12, 16), range(1, 7)
_WIDTH = re.compile(r"x ?(\d{1,2})(?: (?:of|von) x? ?(\d{1,2}))?")
_GENERATION = re.compile(r"gen(?:eration)? ?(\d)(?: (?:of|von) (?:gen(?:eration)? ?)?(\d))?")
_OUTPUT = re.compile(r"([a-z]+(?:-[a-z0-9]+)+) (.+)")
_OUTPUTS = {
    "dark": (False, None, None), "no screen": (False, None, None),
    "sound": (True, Edid.SOUND, Picture.CLEAN), "no edid": (True, Edid.NONE, None),
    "damaged edid": (True, Edid.DAMAGED, None), "no picture": (True, None, Picture.NONE),
    "sparkles": (True, None, Picture.SPARKLES),
    "dunkel": (False, None, None), "kein bild": (True, None, Picture.NONE),
    "flimmert": (True, None, Picture.SPARKLES),
}  # fmt: skip


def evidence_seen(typed: str) -> Evidence:
    """Evidence of what somebody saw; raises BadInput for what cannot be read, with what can.

    Width and generation are those under traffic; what card and slot offer together is 16 lanes of
    generation 4 where nothing else is said. Beeps are a host that found no card that answers.
    """
    link = LinkLook("seen", False, 16, 4)
    outputs: list[OutputLook] = []
    absent = lost = told_of_link = False
    for part in (word.strip().lower() for word in typed.split(",")):
        if not part:
            continue
        width, generation = _WIDTH.fullmatch(part), _GENERATION.fullmatch(part)
        output = _OUTPUT.fullmatch(part)
        if width:
            lanes, most = _both(width, 16, _WIDTHS, part)
            link, told_of_link = replace(link, width=lanes, most_width=most), True
        elif generation:
            number, most = _both(generation, 4, _GENERATIONS, part)
            link = replace(link, generation=number, top_generation=number, most_generation=most)
            told_of_link = True
        elif part == "warm":
            link = replace(link, warm=True)
        elif part in ("no card", "keine karte") or re.fullmatch(r"beeps \d{1,2}", part):
            absent = True
        elif part in ("leaves", "verschwindet"):
            lost = True
        elif output and output[2] in _OUTPUTS:
            detected, edid, picture = _OUTPUTS[output[2]]
            outputs.append(OutputLook(output[1].upper(), detected, edid, picture))
        else:
            raise BadInput(ByHandRefusal.SEEN_UNKNOWN(text=part))
    if not (told_of_link or absent or lost or outputs):
        raise BadInput(ByHandRefusal.SEEN_NOTHING())
    if absent and (told_of_link or outputs):
        raise BadInput(ByHandRefusal.SEEN_BOTH())
    looks = (link,) if told_of_link or outputs or lost else ()
    return Evidence(looks, absent=absent, lost=lost, outputs=tuple(outputs))


def _both(
    found: re.Match[str], most: int, there: range | tuple[int, ...], part: str
) -> tuple[int, int]:
    number, top = int(found[1]), int(found[2] or max(most, int(found[1])))
    if number not in there or top not in there or number > top:
        raise BadInput(ByHandRefusal.NO_LINK(text=part))
    return number, top
