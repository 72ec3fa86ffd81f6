"""A night carried out: batch after batch of what is due, until nothing is, or its hours are over.

What is kept on disk names each batch before it begins. A night that was cut goes on with the same
command: its last batch first, in the records of its cards, then what is due by then.
"""

from __future__ import annotations

import secrets
import signal
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from burnin.card.capabilities import Card
from burnin.cli.batch.again import batch_to_do, borne_out
from burnin.cli.batch.choosing import Chosen, Named, Wanted, choose
from burnin.cli.batch.session import keep, new_batch
from burnin.cli.batch.words_around import print_lines
from burnin.cli.exit import told
from burnin.cli.night.due import Bench, Looked, Standing, look, taken_off
from burnin.cli.night.hours import Hours, hours_of, spans_of
from burnin.cli.night.kept import Night, batches_of, hold_nights, unfinished, write_night
from burnin.cli.night.queue_file import QueuedCard, QueueFile, load_queue
from burnin.cli.night.summary import name_of, night_code, summary
from burnin.cli.night.terms import NightLine
from burnin.cli.request import Wish
from burnin.cli.stop_signals import StopAsked
from burnin.cli.terms import CliRefusal
from burnin.core.clock import WallClock, iso, moment_of
from burnin.core.errors import BadInput
from burnin.core.meaning import Meaning
from burnin.record.batches.batch import Batch, batch_file, write_batch
from burnin.report.languages.catalogue import Catalogue, catalogue
from burnin.run.bench import cards_of_bench
from burnin.ticket.shop.shop_file import Shop, load_shop

_LOOKS_EVERY = timedelta(seconds=30)
"""How often it is looked whether a card that was not there is there now."""
_STEP_S = 0.2


def run_night(wish: Wish, file: Path) -> int:
    """Carry out the night of a queue's file, or go on with it; the exit code of its worst card.

    Raises BurninError for bad input, and where another night of these results goes on.
    """
    load_queue(file)  # one that cannot be used leaves nothing behind
    with hold_nights(wish.results):
        return _Night(wish, file).run()


class _Night:
    """The state of one night while it goes on."""

    def __init__(self, wish: Wish, file: Path) -> None:
        """Raises BadInput for a queue that cannot be carried out."""
        self._wish, self._shop = wish, load_shop()
        self._words: Catalogue = catalogue(wish.language).in_zone(self._shop.time_zone)
        self._queue: QueueFile = load_queue(file)
        self._clock, self._refused = WallClock(), dict[QueuedCard, str]()
        self._said: Meaning | None = None
        kept = unfinished(wish.results, file)
        now = self._clock.utc()
        self._hours = _hours(self._queue, kept, now, self._shop)
        self._night = kept or Night(
            f"{now.strftime('%Y%m%dT%H%M%SZ')}-{secrets.token_hex(2)}",
            str(file.absolute()),
            iso(now),
            iso(self._hours.begins),
            "" if self._hours.until is None else iso(self._hours.until),
            simulated=bool(wish.options.simulated),
        )
        bench = self._bench(self._cards())
        looked = [look(queued, bench, now) for queued in self._queue.cards]  # or it is refused
        count, name = len(looked), str(file)
        begins = NightLine.BEGINS(cards_count=count, file=name)
        self._say(NightLine.GOES_ON(file=name) if kept else begins)

    def run(self) -> int:
        """Until nothing is due any more, the hours are over, or somebody asks for the end."""
        write_night(self._wish.results, self._night)
        with StopAsked() as stop:
            self._go_on_with_cut(stop)
            while not (stop.number() or self._hours.over(self._clock.utc())):
                if not self._turn(stop):
                    break
        if self._hours.over(self._clock.utc()):
            self._say(NightLine.OVER(until_utc=self._night.until_utc))
        if not stop.number():  # one that was stopped by hand may be gone on with
            self._night = replace(self._night, ended_utc=iso(self._clock.utc()))
            write_night(self._wish.results, self._night)
        looked = self._look(self._cards(), self._borne_out())
        simulated = bool(self._wish.options.simulated)
        print_lines(["", *summary(looked, self._refused, self._wish.results, self._words,
                                  simulated=simulated)])  # fmt: skip
        return night_code(looked, self._refused)

    def _turn(self, stop: StopAsked) -> bool:
        """Burn in what is due, or wait for what comes next; false where nothing comes."""
        cards, now = self._cards(), self._clock.utc()
        looked = [one for one in self._look(cards) if one.queued not in self._refused]
        begins = self._hours.not_before(now)
        due = [one for one in looked if one.standing is Standing.NOW]
        if begins is None and due:
            self._burn_in(self._choose(due, cards), cards, stop)
            return True
        moments = [one.from_utc for one in looked if one.from_utc is not None]
        if due and begins is not None:
            moments.append(begins)
        absent = [one for one in looked if one.standing is Standing.NOT_THERE]
        if absent:
            names = ", ".join(name_of(one.queued, self._words) for one in absent)
            self._say(NightLine.WAITS_FOR_CARDS(cards=names))
            if self._hours.until is not None:
                moments.append(now + _LOOKS_EVERY)
        if not moments:
            return False
        if not absent:
            self._say(NightLine.WAITS_UNTIL(from_utc=iso(min(moments))))
        self._wait(min(moments), stop)
        return True

    def _burn_in(self, chosen: Sequence[Chosen], cards: Sequence[Card], stop: StopAsked) -> None:
        if not chosen:
            return
        batch = new_batch(chosen, self._wish.options)
        self._night = self._night.with_batch(batch.batch_id)
        write_night(self._wish.results, self._night)
        keep(self._wish, batch, batch.cards, cards, self._stop_too(stop))

    def _go_on_with_cut(self, stop: StopAsked) -> None:
        """The batches that a cut, or somebody, ended before their cards had come to their end."""
        cards = self._cards()
        there = {card.identity().address for card in cards}
        for batch in tuple(batches_of(self._wish.results, self._night)):
            now, left = batch_to_do(batch_file(self._wish.results, batch.batch_id))
            write_batch(self._wish.results, now)
            left = tuple(card for card in left if card.address in there)
            if left and not self._hours.over(self._clock.utc()):
                keep(self._wish, now, left, cards, self._stop_too(stop))

    def _choose(self, due: Sequence[Looked], cards: Sequence[Card]) -> list[Chosen]:
        """Ticket and profile of each card that is due; one that cannot be begun is named."""
        found: list[Chosen] = []
        for one in due:
            named = Named(one.address.lower(), one.queued.ticket, one.queued.profile)
            wanted = Wanted(
                (named,), self._wish.profile, self._shop.card_profiles, self._wish.results,
                bool(self._wish.options.simulated),
            )  # fmt: skip
            try:
                (chosen,) = choose(cards, wanted)
                if any(chosen.identity.address == other.identity.address for other in found):
                    raise BadInput(CliRefusal.QUEUED_TWICE(address=one.address))
                found.append(chosen)
            except BadInput as refused:
                self._refused[one.queued] = told(refused, self._words)
        return found

    def _look(
        self, cards: Sequence[Card], batches: Sequence[Batch] | None = None
    ) -> list[Looked]:
        """How each card of the queue stands; one that cannot be looked at costs the others nothing.

        With `batches` also those that the queue no longer names.
        """
        bench, now, found = self._bench(cards, batches), self._clock.utc(), list[Looked]()
        for queued in self._queue.cards:
            try:
                found.append(look(queued, bench, now))
            except BadInput as refused:
                self._refused[queued] = told(refused, self._words)
                found.append(Looked(queued, Standing.DONE))
        return found if batches is None else [*found, *taken_off(found, batches)]

    def _bench(self, cards: Sequence[Card], batches: Sequence[Batch] | None = None) -> Bench:
        results = self._wish.results
        kept = batches_of(results, self._night) if batches is None else batches
        return Bench(cards, results, bool(self._wish.options.simulated), tuple(kept))

    def _borne_out(self) -> tuple[Batch, ...]:
        """The batches of this night with the words that their records bear out, kept so."""
        found = []
        for batch in batches_of(self._wish.results, self._night):
            found.append(borne_out(batch, self._wish.results))
            write_batch(self._wish.results, found[-1])
        return tuple(found)

    def _cards(self) -> tuple[Card, ...]:
        return cards_of_bench(self._wish.options)

    def _stop_too(self, stop: StopAsked) -> Callable[[], int]:
        """The end of the hours, and what this process was asked before the batch began."""

        def number() -> int:
            over = self._hours.over(self._clock.utc())
            return stop.number() or (int(signal.SIGTERM) if over else 0)

        return number

    def _wait(self, until: datetime, stop: StopAsked) -> None:
        """Until then; no longer than that is away now, whatever the clock is set to meanwhile."""
        end_s = self._clock.monotonic_s() + (until - self._clock.utc()).total_seconds()
        while (
            not stop.number()
            and self._clock.utc() < until
            and self._clock.monotonic_s() < end_s
        ):
            if self._hours.over(self._clock.utc()):
                return
            time.sleep(_STEP_S)

    def _say(self, line: Meaning) -> None:
        if line != self._said and not self._wish.as_json:
            self._said = line
            print_lines([self._words.say(line)])


def _hours(queue: QueueFile, kept: Night | None, now: datetime, shop: Shop) -> Hours:
    """The hours of the night; one that goes on keeps those that it began with."""
    if kept is None:
        return hours_of(queue, now, shop.time_zone)
    begins = moment_of(kept.begins_utc) or now.astimezone(UTC)
    return Hours(begins, moment_of(kept.until_utc), spans_of(queue.quiet), shop.time_zone)
