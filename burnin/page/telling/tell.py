"""All that the page shows at one moment, worded: plain JSON that a script puts in its place."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.core.clock import moment_of
from burnin.core.reading import known
from burnin.core.verdict import WHOLE_RUN, StageVerdict, by_reason
from burnin.page.run_so_far import RunSoFar
from burnin.page.seen import Phase, Seen
from burnin.page.standing import Standing
from burnin.page.telling.asked import told_prompt
from burnin.page.telling.drawn import KINDS
from burnin.page.telling.figures import figures, limit_c
from burnin.page.telling.seat import place_of, screens_told
from burnin.page.telling.word_so_far import LargeWord, word_so_far
from burnin.page.terms import PageReason, PageTerm
from burnin.record.schema.run import RunFile
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line
from burnin.report.sheet.marks import outcome, stage_mark
from burnin.report.sheet.meanings import Banner

_QUIET_FROM_S = 5.0
"""A run writes a row several times a second: from so long without one on, the page says so."""
_MOST_OWED, _MOST_FAILED = 6, 4
Told = dict[str, object]


def tell(seen: Seen, words: Catalogue, results: str) -> Told:
    """What is shown, but for the curves."""
    so_far, run = seen.so_far, seen.so_far.run
    live = seen.phase in (Phase.RUNNING, Phase.STOPPING)
    told: Told = {
        "run": "" if run is None else run.run_id,
        "phase": seen.phase.value,
        "can_stop": seen.phase is Phase.RUNNING,
        "problem": _problem(seen, words, results),
        "head": [] if run is None else list(_head(run, words)),
        "banner": banner(run, words),
        "word_title": words.say(PageTerm.WORD() if seen.judged else PageTerm.WORD_SO_FAR()),
        "word": large_word(seen, words),
        "stage": stage_told(so_far, words),
        "left": time_left(seen, words),
        "prompt": _prompt(seen, words),
        "figures": figures(so_far, words, live=live),
        "notices": [one_line(line, 400) for line in _notices(seen, words)],
        "stages": [_row(so_far, name, words) for name in so_far.stages],
        "limit_c": limit_c(so_far),
        "band": _band(seen),
        "at_s": so_far.elapsed_s,
    }
    return told


def _problem(seen: Seen, words: Catalogue, results: str) -> str:
    if seen.unreadable:
        return one_line(words.say(PageReason.UNREADABLE(words=seen.unreadable)), 400)
    if seen.folder is None:
        return words.say(PageTerm.NO_RECORD(folder=results))
    return ""


def _head(run: RunFile, words: Catalogue) -> Iterator[str]:
    """Whose repair it is and on what; a customer's name is nobody's who passes by."""
    ticket, card = run.ticket, run.card
    if ticket.number:
        yield one_line(ticket.number, 60)
    name = ticket.card_label or (known(card.name) if card is not None else None)
    if name:
        yield one_line(name, 80)
    yield one_line(words.word(run.profile.title), 80)


def banner(run: RunFile | None, words: Catalogue) -> str:
    """That no card was at work, where that is so."""
    if run is None:
        return ""
    if not run.is_simulated:
        return "" if run.engine.works_card else words.say(Banner.SOFTWARE_ENGINE())
    return one_line(words.say(PageTerm.SIMULATED(scenario=run.simulated_scenario)), 200)


def large_word(seen: Seen, words: Catalogue) -> Told:
    """The word of a run, or its word so far, how it is drawn, and what stands below it."""
    if seen.folder is None:
        return {"text": "–", "kind": "so-far", "lines": []}
    run = seen.so_far.run
    if seen.judged is not None and run is not None:
        verdict, reason = seen.judged
        found = outcome(verdict, words, simulated=run.is_simulated)
        return {
            "text": found.word,
            "kind": KINDS[found.shape],
            "lines": [one_line(words.say(reason), 400)],
        }
    large: LargeWord = word_so_far(seen.so_far, seen.phase, seen.folder)
    lines = [one_line(words.say(line), 400) for line in large.detail]
    return {"text": words.say(large.word), "kind": large.kind, "lines": lines}


def stage_told(so_far: RunSoFar, words: Catalogue) -> Told:
    """The stage that is carried out: its title, which of how many, how far it is."""
    stage = so_far.stages.get(so_far.current)
    if stage is None:
        return {"title": "–", "place": "", "share": None}
    count = sum(one.kind != WHOLE_RUN for one in so_far.stages.values())
    number = stage.name.partition("-")[0]
    place = ""
    if stage.kind != WHOLE_RUN:
        place = words.say(PageTerm.STAGE_AT(number=number, stages_count=count))
    share = None
    if stage.expected_s > 0.0 and stage.started_s is not None:
        over = stage.verdict is not StageVerdict.INCOMPLETE
        spent = so_far.elapsed_s - stage.started_s
        share = 1.0 if over else min(1.0, spent / stage.expected_s)
    return {
        "title": one_line(words.stage(stage.kind, stage.own_title), 80),
        "place": place,
        "share": share,
    }


def time_left(seen: Seen, words: Catalogue) -> str:
    """How long the run still takes."""
    if seen.phase not in (Phase.RUNNING, Phase.STOPPING):
        return words.say(PageTerm.LEFT_NONE())
    seconds, all_known = seen.so_far.left_s()
    ends = seen.phase is Phase.STOPPING or seen.so_far.trip is not None
    if seconds <= 0.0 or ends:
        return words.say(PageTerm.LEFT_UNKNOWN())
    term = PageTerm.LEFT_ABOUT if all_known else PageTerm.LEFT_AT_LEAST
    return words.say(term(seconds=seconds))


def _prompt(seen: Seen, words: Catalogue) -> Told | None:
    standing = seen.so_far.prompt
    if standing is None or seen.phase is not Phase.RUNNING:
        return None
    run, told = seen.so_far.run, told_prompt(standing, left_of(standing, seen), words)
    told["of"] = "; ".join(filter(None, (place_of(run, words), screens_told(run, words))))
    return told


def left_of(standing: Standing, seen: Seen) -> float:
    """Seconds that a prompt still stands.

    The clock of a simulated machine is not that on the wall: there the time since the last row is
    taken, for a run that waits for an answer writes none.
    """
    spent_s = seen.quiet_s
    is_simulated = seen.so_far.run is not None and seen.so_far.run.is_simulated
    if moment_of(standing.since_utc) is not None and not is_simulated:
        spent_s = standing.stood_s + time.monotonic() - standing.seen_s
    return max(0.0, standing.timeout_s - max(0.0, spent_s))


def _notices(seen: Seen, words: Catalogue) -> Iterator[str]:
    so_far = seen.so_far
    if so_far.begin_unread:
        yield words.say(PageTerm.STILL_READ(read_pct=math.floor(100.0 * seen.read_share)))
    waits = so_far.prompt is not None
    if seen.phase is Phase.RUNNING and seen.quiet_s > _QUIET_FROM_S and not waits:
        yield words.say(PageTerm.QUIET(seconds=seen.quiet_s))
    if so_far.trip is not None:
        check = so_far.trip.check()
        if check is not None:
            yield words.say(PageTerm.CHECK(what=check))
    if so_far.warning is not None and seen.phase is Phase.RUNNING:
        note, check = so_far.warning.note("warning"), so_far.warning.check()
        if note is not None:
            yield words.say(PageTerm.WARNING(what=note))
        if check is not None:
            yield words.say(PageTerm.CHECK(what=check))
    yield from _failed(so_far, words)
    run = so_far.run
    if seen.phase is Phase.FINISHED and run is not None:
        for reason, what in list(by_reason(run.owed).items())[:_MOST_OWED]:
            yield words.say(PageTerm.OWED(what=tuple(what), why=reason))


def _failed(so_far: RunSoFar, words: Catalogue) -> Iterator[str]:
    """Values that failed, the first few, with why."""
    for reading in list(so_far.failed.values())[:_MOST_FAILED]:
        why, title = words.say(reading.reason), words.reading(reading.name)
        yield words.say(PageTerm.FAILED_VALUE(reading=title, why=why)) if why else title
    if len(so_far.failed) > _MOST_FAILED:
        yield words.say(PageTerm.FAILED_VALUES(failed_count=len(so_far.failed)))


def _row(so_far: RunSoFar, name: str, words: Catalogue) -> Told:
    stage = so_far.stages[name]
    title = one_line(words.stage(stage.kind, stage.own_title), 60)
    if stage.verdict is StageVerdict.INCOMPLETE:
        begun = stage.started_s is not None
        return {
            "title": title,
            "word": words.say(PageTerm.NOW() if begun else PageTerm.TO_COME()),
            "kind": "now" if begun else "to-come",
        }
    mark = stage_mark(stage.verdict, words)
    return {"title": title, "word": mark.word, "kind": KINDS[mark.shape]}


def _band(seen: Seen) -> list[list[float]]:
    """What is foreseen: elapsed second, lowest, highest; nothing where the load is off."""
    entry, row = seen.so_far.forecast, seen.so_far.sample
    loaded = row is not None and (row.load_share > 0.0 or bool(row.load_w))
    if entry is None or not loaded or seen.phase is not Phase.RUNNING:
        return []
    return [[entry.elapsed_s + f.ahead_s, f.low_c, f.high_c] for f in entry.foreseen()]
