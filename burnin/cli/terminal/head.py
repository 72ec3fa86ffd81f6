"""What stands above the first stage: card, profile, engine, record; and that nothing is real."""

from __future__ import annotations

from burnin.cli.terms import ScreenTerm
from burnin.core.identity import Identity
from burnin.core.opening import Opening
from burnin.core.reading import known
from burnin.report.languages.catalogue import Catalogue
from burnin.run.proven.telling import shown_term


def head(opening: Opening, words: Catalogue) -> list[tuple[str, str, str]]:
    """Label, text and style of each line."""
    profile, engine = opening.profile, opening.engine
    rows = []
    if opening.card is not None:
        rows.append((words.say(ScreenTerm.CARD()), card_line(opening.card, words), "bold"))
    title = words.word(profile.title)
    rows.append((words.say(ScreenTerm.PROFILE()), f"{profile.name}: {title}", ""))
    why = words.say(engine.why)
    rows.append((words.say(ScreenTerm.ENGINE()), f"{engine.name}: {why}", ""))
    if opening.bench_shown is not None and opening.card is not None:
        rows.append((words.say(ScreenTerm.BENCH()), words.say(shown_term(opening.bench_shown)), ""))
    rows.append((words.say(ScreenTerm.RECORD()), opening.folder, ""))
    return rows


def card_line(card: Identity, words: Catalogue) -> str:
    """A card on one line: name, ids, address, memory."""
    ids, name = f"{card.vendor_id:04x}:{card.device_id:04x}", known(card.name)
    told = f"{name} ({ids})" if name else ids
    memory_bytes = known(card.memory_bytes)
    place = ScreenTerm.CARD_AT(card=told, address=card.address)
    size = f", {memory_bytes / (1 << 30):.0f} GiB" if memory_bytes else ""
    return f"{words.say(place)}{size}"


def banner(opening: Opening, words: Catalogue) -> str:
    """What takes a real card's place, where something does; else empty."""
    if opening.simulated:
        return words.say(
            ScreenTerm.SIMULATED(
                scenario=opening.simulated_scenario, seed=opening.simulated_seed
            )
        )
    return "" if opening.engine.works_card else words.say(ScreenTerm.SOFTWARE())
