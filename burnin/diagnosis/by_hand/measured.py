"""What was tried after a record was made, as people type it: ``A25 open, DP-2 stays``.

Points of supply and plug are ``supply_12v short`` and ``8pin/4 open``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput
from burnin.diagnosis.by_hand.refusals import ByHandRefusal
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.outputs.beliefs import is_contact_of
from burnin.diagnosis.outputs.looks import OtherCable, OutputLook, Picture
from burnin.diagnosis.point_state import PointSaid, PointState, group_of
from burnin.diagnosis.power.of_record import NOTHING_SAID, TicketSays

_STATES: dict[str, Literal["alike", "open", "off"]] = {
    "open": "open", "alike": "alike", "off": "off",
    "offen": "open", "gleich": "alike", "anders": "off",
}  # fmt: skip
"""A keyboard knows nothing of the language on the screen: the words of both are understood."""
_AT_POINTS: dict[str, PointState] = {
    "short": "low", "open": "open", "alike": "alike", "off": "off",
    "kurzschluss": "low", "offen": "open", "gleich": "alike", "anders": "off",
}  # fmt: skip
_CABLES = {
    "comes": OtherCable.COMES, "stays": OtherCable.STAYS,
    "kommt": OtherCable.COMES, "bleibt": OtherCable.STAYS,
}  # fmt: skip
_PICTURES = {
    "clean": Picture.CLEAN, "sparkles": Picture.SPARKLES, "no picture": Picture.NONE,
    "sauber": Picture.CLEAN, "flimmert": Picture.SPARKLES, "kein bild": Picture.NONE,
}  # fmt: skip


@dataclass(frozen=True)
class Tried:
    """What was tried or seen at an output: another cable, its screen's picture, or a meter at a
    contact of its connector."""

    output: str
    cable: OtherCable | None = None
    picture: Picture | None = None
    contact: str | None = None
    is_open: bool = False


@dataclass(frozen=True)
class After:
    """All that was tried after a record was made, and what a ticket's meter said before it.

    `points`: of rails and of a plug's contacts; `supply`: for the explanation of power.
    """

    measured: tuple[Measured, ...] = ()
    tried: tuple[Tried, ...] = ()
    points: tuple[PointSaid, ...] = ()
    supply: TicketSays = NOTHING_SAID

    def added_to(self, evidence: Evidence) -> Evidence:
        """The evidence with it; raises BadInput for an output of which the record says nothing."""
        names = {look.name for look in evidence.outputs}
        for one in self.tried:
            if one.output not in names:
                if not names:
                    raise BadInput(ByHandRefusal.NO_OUTPUTS(output=one.output))
                raise BadInput(
                    ByHandRefusal.NO_OUTPUT(output=one.output, there=tuple(sorted(names)))
                )
        outputs = tuple(_looked(look, self.tried) for look in evidence.outputs)
        plugs = [said.point.split("/")[0] for said in self.points if "/" in said.point]
        return replace(
            evidence,
            measured=self.measured,
            outputs=outputs,
            points=self.points,
            plug=plugs[-1] if plugs else evidence.plug,
        )

    def and_then(self, later: After) -> After:
        """This, and what was found later."""
        return After(
            (*self.measured, *later.measured),
            (*self.tried, *later.tried),
            (*self.points, *later.points),
            self.supply,
        )


NOTHING_TRIED = After()


def after_of(typed: str) -> After:
    """Contacts and outputs with what was found of each; raises BadInput for what is neither."""
    measured: list[Measured] = []
    tried: list[Tried] = []
    points: list[PointSaid] = []
    for part in typed.split(","):
        words = _one_spelling(part.split())
        if not words:
            continue
        name = words[0].upper()
        if _of_any_output(words[0]):
            raise BadInput(ByHandRefusal.AFTER_WHICH_OUTPUT(text=words[0]))
        if name in contacts():
            measured.append(Measured(name, _state(words)))
        elif group_of(words[0].lower()):
            points.append(PointSaid(words[0].lower(), _at_point(words)))
        elif "-" in name:
            tried.append(_tried(words))
        else:
            raise BadInput(ByHandRefusal.AFTER_UNKNOWN(text=words[0]))
    return After(tuple(measured), tuple(tried), tuple(points))


def _one_spelling(words: list[str]) -> list[str]:
    """``DP-2/18 open`` as ``DP-2 18 open``."""
    if not words:
        return words
    output, slash, contact = words[0].partition("/")
    is_output = output[:1].isalpha() and "-" in output
    return [output, contact, *words[1:]] if slash and is_output else words


def _of_any_output(point: str) -> bool:
    """Whether it is a contact that each output of a kind has, as ``dp/18``."""
    kind, slash, contact = point.partition("/")
    return bool(slash) and is_contact_of(f"{kind.upper()}-1", contact) is not None


def _at_point(words: list[str]) -> PointState:
    state = _AT_POINTS.get(" ".join(words[1:]).lower())
    if state is None:
        raise BadInput(ByHandRefusal.AFTER_POINT(text=' '.join(words), point=words[0].lower()))
    return state


def _state(words: list[str]) -> Literal["alike", "open", "off"]:
    state = _STATES.get(" ".join(words[1:]).lower())
    if state is None:
        raise BadInput(ByHandRefusal.AFTER_CONTACT(text=' '.join(words), contact=words[0].upper()))
    return state


def _tried(words: list[str]) -> Tried:
    name, said = words[0].upper(), [word.lower() for word in words[1:]]
    if len(said) == 1 and said[0] in _CABLES:
        return Tried(name, cable=_CABLES[said[0]])
    if " ".join(said) in _PICTURES:
        return Tried(name, picture=_PICTURES[" ".join(said)])
    state = _STATES.get(said[1]) if len(said) == 2 else None
    if state in ("open", "alike") and is_contact_of(name, said[0]):
        return Tried(name, contact=said[0], is_open=state == "open")
    raise BadInput(ByHandRefusal.AFTER_OUTPUT(text=' '.join(words), output=name))


def _looked(look: OutputLook, tried: Iterable[Tried]) -> OutputLook:
    own = [one for one in tried if one.output == look.name]
    cable = next((one.cable for one in reversed(own) if one.cable is not None), look.other_cable)
    picture = next((one.picture for one in reversed(own) if one.picture is not None), look.picture)
    named = {is_contact_of(one.output, one.contact): one for one in own if one.contact is not None}
    is_open = {name for name, one in named.items() if name is not None and one.is_open}
    sound = {name for name, one in named.items() if name is not None and not one.is_open}
    return replace(
        look,
        other_cable=cable,
        picture=picture,
        open_contacts=(look.open_contacts - sound) | is_open,
        sound_contacts=(look.sound_contacts - is_open) | sound,
    )
