"""All runs of a round in words: one field a card, and the one question that needs an answer."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from burnin.core.meaning import Meaning
from burnin.core.reading import known
from burnin.page.board_terms import RoundTerm
from burnin.page.record_names import record_name
from burnin.page.run_so_far import RunSoFar
from burnin.page.seen import Phase, Seen
from burnin.page.standing import Standing
from burnin.page.telling.asked import told_prompt
from burnin.page.telling.figures import figures
from burnin.page.telling.seat import place_of, screens_told
from burnin.page.telling.tell import banner, large_word, left_of, stage_told, time_left
from burnin.page.terms import PageReason
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line

Told = dict[str, object]


def tell_round(round_seen: Sequence[Seen], words: Catalogue, results: Path) -> Told:
    """Everything that the page over several records shows."""
    asks = [seen for seen in round_seen if _prompt(seen) is not None]
    first = min(asks, key=_stands_since, default=None)
    banners = {banner(seen.so_far.run, words) for seen in round_seen}
    of_all = banners.pop() if len(banners) == 1 else ""
    return {
        "banner": of_all,
        "count": _count(round_seen, words),
        "nothing": "" if round_seen else words.say(RoundTerm.NONE(folder=str(results))),
        "cards": [_card(seen, words, of_all, is_first=seen is first) for seen in round_seen],
        "prompt": None if first is None else _asked(first, words),
        "more_prompts": (
            words.say(RoundTerm.MORE_PROMPTS(prompts_count=len(asks) - 1)) if len(asks) > 1 else ""
        ),
    }


def _prompt(seen: Seen) -> Standing | None:
    return seen.so_far.prompt if seen.phase is Phase.RUNNING else None


def _stands_since(seen: Seen) -> str:
    """The question that stands longest comes first, and stays until it is answered."""
    standing = _prompt(seen)
    return "" if standing is None else standing.since_utc


def _count(round_seen: Sequence[Seen], words: Catalogue) -> str:
    if not round_seen:
        return ""
    live = sum(seen.phase in (Phase.RUNNING, Phase.STOPPING) for seen in round_seen)
    if not live:
        return words.say(RoundTerm.ENDED(runs_count=len(round_seen)))
    if len(round_seen) == 1:
        return words.say(RoundTerm.ONE())
    return words.say(RoundTerm.COUNT(runs_count=live, cards_count=len(round_seen)))


def _asked(seen: Seen, words: Catalogue) -> Told:
    standing, run = _prompt(seen), seen.so_far.run
    assert standing is not None
    prompt = told_prompt(standing, left_of(standing, seen), words)
    prompt["run"] = "" if run is None else run.run_id
    card, place = _name(seen.so_far, words), place_of(run, words)
    of: Meaning = RoundTerm.PROMPT_OF(card=card)
    if place:  # cards of one name may stand side by side
        of = RoundTerm.PROMPT_OF_AT(card=card, place=place)
    screens = screens_told(run, words)
    prompt["of"] = f"{words.say(of)}; {screens}" if screens else words.say(of)
    return prompt


def _name(so_far: RunSoFar, words: Catalogue) -> str:
    """What people call the card: ticket and label, else what it says of itself."""
    run = so_far.run
    if run is None:
        return words.say(RoundTerm.CARD())
    label = run.ticket.card_label or (known(run.card.name) if run.card is not None else "")
    parts = [part for part in (run.ticket.number, label) if part]
    return one_line(" · ".join(parts), 80) or words.say(RoundTerm.CARD())


def _card(seen: Seen, words: Catalogue, of_all: str, *, is_first: bool) -> Told:
    so_far, run = seen.so_far, seen.so_far.run
    live = seen.phase in (Phase.RUNNING, Phase.STOPPING)
    told = figures(so_far, words, live=live)
    waits = ""
    if _prompt(seen) is not None:
        waits = words.say(RoundTerm.WAITS_FIRST() if is_first else RoundTerm.WAITS())
    problem = words.say(PageReason.UNREADABLE(words=seen.unreadable)) if seen.unreadable else ""
    return {
        "record": "" if seen.folder is None else record_name(seen.folder),
        "name": _name(so_far, words),
        "address": place_of(run, words),
        "banner": "" if of_all else banner(run, words),
        "phase": seen.phase.value,
        "stage": stage_told(so_far, words),
        "left": time_left(seen, words),
        "word": large_word(seen, words),
        "temperature": told["temperature"],
        "power": told["power"],
        "waits": waits,
        "problem": one_line(problem, 200),
    }
