"""What a ticket still owes, and from when it may be done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.reading import Verdict
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import Profile, stage_name
from burnin.ticket.before_power.power_gate import against_power
from burnin.ticket.before_power.values import judged
from burnin.ticket.dates import moment_of, utc_now
from burnin.ticket.proof import PastRun, Proven, proven, runs_that_count
from burnin.ticket.repairs import cure_text, uncured
from burnin.ticket.whole_ticket import Deferral, WholeTicket

BEFORE_POWER = "before power"
WHOLE_RUN = "Whole run"
LINK_KINDS = ("link",)
"""Kinds of stage that are done again once the joint of a repaired contact is cured."""


@dataclass(frozen=True)
class Owes:
    """One thing that somebody must still do.

    `stage` is that of the profile (empty: no stage); `from_utc` empty: at any time. `failed`: it
    was carried out and failed, so that a repair is owed.
    """

    stage: str
    what: str
    reason: str
    from_utc: str = ""
    failed: bool = False

    def may_be_done(self, now: datetime) -> bool:
        """Whether its time has come."""
        return not self.from_utc or moment_of(self.from_utc) <= now


def owed_now(
    ticket: WholeTicket, loaded: LoadedProfile | None = None, now: datetime | None = None
) -> tuple[Owes, ...]:
    """Everything that a ticket owes; empty for a closed one and for one without a fix."""
    if ticket.closed or ticket.no_fix:
        return ()
    moment = now or utc_now()
    runs = runs_that_count(ticket)
    loaded = loaded or profile_of_ticket(ticket, runs)
    profile = loaded.profile if loaded else None
    found = [*_before_power(ticket, profile)]
    if not runs:
        never = "no run since the card was last worked on"
        return (*found, Owes("", WHOLE_RUN, never), *_cure(ticket, moment, runs, loaded))
    if loaded is None:
        told = [_as_recorded(owed) for owed in runs[-1].owed()]
        return (*found, *told, *_cure(ticket, moment, runs, loaded))
    return (*found, *_stages(ticket, loaded, runs, moment), *_cure(ticket, moment, runs, loaded))


def _as_recorded(owed: Mapping[str, object]) -> Owes:
    stage, what, reason = (str(owed.get(key, "")) for key in ("stage", "what", "reason"))
    return Owes(stage, what, reason)


def profile_of_ticket(
    ticket: WholeTicket, runs: tuple[PastRun, ...] = ()
) -> LoadedProfile | None:
    """The profile that the ticket names, else that of the newest run; to the letter as it was run.

    A run with another profile proves what it proves, and changes nothing of what is owed.
    """
    import tomllib

    from burnin.core.errors import ProfileError
    from burnin.profile.loader import load_profile, parse_profile

    named = ticket.intake.get("profile", "")
    try:
        for run in reversed(runs):
            profile = run.facts.get("profile")
            if named and run.profile_name != Path(named).stem:
                continue
            if isinstance(profile, dict) and profile.get("text"):
                text = str(profile["text"])
                name, file = str(profile.get("name", "")), str(profile.get("file", ""))
                return parse_profile(name, file, text, tomllib.loads(text))
        return load_profile(named) if named else None
    except (ProfileError, tomllib.TOMLDecodeError):
        return None


def stages_owed(
    ticket: WholeTicket, loaded: LoadedProfile | None = None, now: datetime | None = None
) -> list[str]:
    """Names (``4-memory``) of the stages that a run of this ticket must carry out now, in order.

    Left out are those that stand, those put off until later, and those put off without a day.
    """
    moment = now or utc_now()
    runs = runs_that_count(ticket)
    loaded = loaded or profile_of_ticket(ticket, runs)
    if loaded is None:
        return []
    stand = standing(ticket, loaded, runs, moment)
    later = put_off(ticket, loaded.profile, moment)
    names = (stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1))
    return [name for name in names if name not in stand and name not in later]


def standing(
    ticket: WholeTicket, loaded: LoadedProfile, runs: tuple[PastRun, ...], now: datetime
) -> dict[str, Proven]:
    """Stages that need no second run now.

    A link judged before a joint was cured stands until the cure is over; then it is judged again.
    """
    cured = [
        moment_of(r.cured_utc)
        for r in ticket.repairs
        if r.cured_utc and moment_of(r.cured_utc) <= now
    ]
    last_cure = max(cured, default=None)
    return {
        name: stage
        for name, stage in proven(runs, loaded.sha256).items()
        if stage.outcome.verdict == "fail"
        or stage.outcome.kind not in LINK_KINDS
        or last_cure is None
        or stage.at >= last_cure
    }


def put_off(ticket: WholeTicket, profile: Profile, now: datetime) -> dict[str, Deferral]:
    """Stages, by name, that were put off and whose day has not come."""
    found = {}
    for number, stage in enumerate(profile.stages, start=1):
        name = stage_name(number, stage)
        off = ticket.deferrals.get(name) or ticket.deferrals.get(stage.stage)
        if off is not None and (not off.from_utc or moment_of(off.from_utc) > now):
            found[name] = off
    return found


def _before_power(ticket: WholeTicket, profile: Profile | None) -> list[Owes]:
    found = [
        Owes(BEFORE_POWER, name, reason) for name, reason in against_power(ticket, profile).items()
    ]
    named = {owes.what for owes in found}
    overruled = {o.point for o in ticket.overrides}
    for reading in judged(profile, ticket):
        bad = reading.verdict not in (Verdict.PASS, None)
        if bad and reading.required and reading.name not in named | overruled:
            found.append(Owes(BEFORE_POWER, reading.name, reading.reason))
    return found


def _stages(
    ticket: WholeTicket, loaded: LoadedProfile, runs: tuple[PastRun, ...], now: datetime
) -> list[Owes]:
    from burnin.stages.catalogue import title_of

    stand = standing(ticket, loaded, runs, now)
    off = put_off(ticket, loaded.profile, now)
    latest = {
        str(row.get("stage", "")): row
        for run in runs
        if run.profile_sha256 == loaded.sha256
        for row in run.stages()
    }
    found = []
    for number, stage in enumerate(loaded.profile.stages, start=1):
        name = stage_name(number, stage)
        if name in stand:
            outcome = stand[name].outcome
            if outcome.verdict == "fail":
                what = f"{title_of(stage)}: failed, repair it"
                found.append(Owes(name, what, outcome.reason, failed=True))
            continue
        put, row = off.get(name), latest.get(name, {})
        reason = put.reason if put else str(row.get("reason", "")) or "not carried out yet"
        if str(row.get("verdict", "")) == "pass":
            reason = "passed before the joint was cured; the link must be judged again"
        found.append(Owes(name, title_of(stage), reason, put.from_utc if put else ""))
    found += [Owes("", owed.what, owed.reason) for owed in loaded.profile.owed]
    return found + _failed_elsewhere(loaded, runs)


def _failed_elsewhere(loaded: LoadedProfile, runs: tuple[PastRun, ...]) -> list[Owes]:
    """What failed under another profile since the last repair: a failure is never outweighed."""
    return [
        Owes(
            "",
            f"{row.get('title', '')} (profile {run.profile_name}): failed, repair it",
            str(row.get("reason", "")),
            failed=True,
        )
        for run in runs
        if run.profile_sha256 != loaded.sha256
        for row in run.stages()
        if row.get("verdict") in ("fail", "aborted")
    ]


def _cure(
    ticket: WholeTicket, now: datetime, runs: tuple[PastRun, ...], loaded: LoadedProfile | None
) -> list[Owes]:
    """The link judged again once everything is cured, where it was judged before."""
    open_ones = uncured(ticket, now)
    if not open_ones:
        return []
    stages = proven(runs, loaded.sha256).values() if loaded else ()
    judged_links = any(stage.outcome.kind in LINK_KINDS for stage in stages)
    latest = max(open_ones, key=lambda r: r.cured_utc)
    what = "Link again after curing" if judged_links else "Link after curing"
    told = "; ".join(cure_text(r, now) for r in open_ones)
    return [Owes("", what, told, iso(moment_of(latest.cured_utc)))]
