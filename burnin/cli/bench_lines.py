"""What `burnin bench` does and prints: slots and their proofs, a proof declared, one forgotten."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from burnin.cli.bench_terms import BenchLine
from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Reason, Term
from burnin.core.plain import plain
from burnin.core.proven_bench import (
    NOWHERE,
    NotProven,
    ProvenBench,
    ProvenOutput,
    ProvenRail,
    Slot,
)
from burnin.core.reading import known
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import Catalogue
from burnin.run.proven.bench_log import Declared, declare, declared, forget, read, slots_kept
from burnin.run.proven.proof import Proof, proof_of, refusals, slot_of
from burnin.run.proven.shown import ProofAge, bench_shown
from burnin.run.proven.telling import carried_terms, further_terms
from burnin.stages.boot import read_boot
from burnin.ticket.log.days_and_spans import utc_now


@dataclass(frozen=True)
class Declaration:
    """What came of declaring a run known-good; `refused` says why it proves nothing."""

    refused: tuple[Reason, ...] = ()
    slot: Slot = NOWHERE
    proof: Proof | None = None


@dataclass(frozen=True)
class _Kept:
    """A slot with its proofs and what they come to now."""

    slot: Slot
    here: bool
    shown: ProvenBench | NotProven
    proofs: tuple[Declared, ...]


def this_bench() -> tuple[str, str | None]:
    """Identity of this bench, empty where nothing tells it from others, and its boot."""
    from burnin.card.files import HostFiles
    from burnin.card.sources.linux_bench import bench_identity

    files = HostFiles()
    boot = known(read_boot(files))
    return known(bench_identity(files)) or "", boot.boot_id if boot is not None else None


def bench_lines(
    results: Path, age: ProofAge, words: Catalogue, now: datetime | None = None
) -> Iterator[str]:
    """Every slot with what it showed and whether it counts."""
    kept = tuple(_kept(results, age, now or utc_now()))
    if not kept:
        yield words.say(BenchLine.NOTHING())
    for one in kept:
        here = BenchLine.HERE() if one.here else None
        yield words.say(BenchLine.SLOT(port=one.slot.port, bench=one.slot.bench, here=here))
        if isinstance(one.shown, NotProven):
            yield f"  {words.say(BenchLine.STANDS_NOT(why=one.shown.reason))}"
        else:
            yield f"  {words.say(BenchLine.STANDS(carried=carried_terms(one.shown)))}"
            yield from (f"  {words.say(term)}" for term in further_terms(one.shown))
        for proven in one.proofs:
            yield f"    {words.say(_proof_line(proven))}"
    yield words.say(BenchLine.AGE(days_count=age.days, starts_count=age.starts))


def bench_json(results: Path, age: ProofAge, now: datetime | None = None) -> str:
    """The same for a machine to read: codes with data."""
    rows = [
        {
            "slot": plain(one.slot),
            "this_bench": one.here,
            "counts": isinstance(one.shown, ProvenBench),
            "shown": plain(one.shown),
            "proofs": plain(one.proofs),
        }
        for one in _kept(results, age, now or utc_now())
    ]
    told = {"days_count": age.days, "starts_count": age.starts, "slots": rows}
    return json.dumps(told, indent=1, ensure_ascii=False)


def declare_known_good(
    results: Path,
    record: Path,
    by: str,
    *,
    ambient_c: float | None = None,
    rails: Sequence[str] = (),
    cables: Sequence[str] = (),
    now: datetime | None = None,
) -> Declaration:
    """Keep what a record shows of its slot; raises BadInput, RecordError."""
    if not by:
        raise BadInput(CliRefusal.NOBODY_DECLARES())
    given = [ProvenRail(name, _volts(text)) for name, text in map(_pair, rails)]
    named = dict(map(_pair, cables))
    moment, read_back = now or utc_now(), read_record(record)
    refused = refusals(read_back, moment)
    if refused:
        return Declaration(refused)
    slot = slot_of(read_back)
    assert slot is not None
    proof = proof_of(read_back)
    strange = sorted(named.keys() - {output.output for output in proof.outputs})
    if strange:
        raise BadInput(
            CliRefusal.CABLE_UNSEEN(output=strange[0], there=tuple(o.output for o in proof.outputs))
        )
    outputs = tuple(
        ProvenOutput(o.output, o.monitor, named.get(o.output, "")) for o in proof.outputs
    )
    proof = replace(
        proof,
        outputs=outputs,
        rails=tuple(given),
        ambient_c=proof.ambient_c if ambient_c is None else ambient_c,
    )
    declare(results, slot, proof, by, moment)
    return Declaration((), slot, proof)


def refused_lines(record: Path, refused: Sequence[Reason], words: Catalogue) -> Iterator[str]:
    """Why a record proves nothing."""
    yield words.say(BenchLine.REFUSED(record=str(record)))
    yield from (f"  {words.say(reason)}" for reason in refused)


def proven_line(found: Declaration, words: Catalogue) -> str:
    """That a slot is proven, and by what."""
    proof = found.proof
    assert proof is not None
    shown = ProvenBench(
        found.slot,
        width_lanes=proof.width_lanes,
        speed_gts=proof.speed_gts,
        width_limit_lanes=proof.width_limit_lanes,
        speed_limit_gts=proof.speed_limit_gts,
        error_rate_bound=proof.error_rate_bound,
    )
    return words.say(
        BenchLine.PROVEN(port=found.slot.port, card=proof.card, carried=carried_terms(shown))
    )


def forget_slot(results: Path, port: str, bench: str, by: str) -> Slot:
    """Take back what was proven of a slot; raises BadInput where nothing was."""
    wanted = port if port.count(":") == 2 else f"0000:{port}"
    identity = bench or this_bench()[0]
    slots = [slot for slot, _ in slots_kept(results) if slot.port == wanted.lower()]
    found = [slot for slot in slots if slot.bench == identity] or (slots if not bench else [])
    if not found:
        raise BadInput(CliRefusal.NO_SLOT(port=port))
    if len(found) > 1:
        benches = tuple(slot.bench for slot in found)
        raise BadInput(CliRefusal.SEVERAL_BENCHES(port=port, benches=benches))
    forget(results, found[0], by, utc_now())
    return found[0]


def forgotten_line(slot: Slot, words: Catalogue) -> str:
    """That what was proven counts no more."""
    return words.say(BenchLine.FORGOTTEN(port=slot.port))


def _kept(results: Path, age: ProofAge, now: datetime) -> Iterator[_Kept]:
    identity, boot_id = this_bench()
    for slot, _ in slots_kept(results):
        here = slot.bench == identity
        shown = bench_shown(results, slot, now, boot_id if here else None, age)
        yield _Kept(slot, here, shown, _proofs(results, slot))


def _proofs(results: Path, slot: Slot) -> tuple[Declared, ...]:
    try:
        log = read(results, slot)
        return () if log is None else declared(log)
    except RecordError:
        return ()


def _proof_line(proven: Declared) -> Term:
    proof = proven.proof
    return BenchLine.PROOF(
        proven_utc=proof.started_utc,
        card=proof.card,
        width_lanes=proof.width_lanes,
        speed_gts=proof.speed_gts,
        by=proven.by,
        run_id=proof.run_id,
    )


def _pair(text: str) -> tuple[str, str]:
    name, found, value = text.partition("=")
    if not found or not name.strip() or not value.strip():
        raise BadInput(CliRefusal.NO_PAIR(text=text))
    return name.strip(), value.strip()


def _volts(text: str) -> float:
    try:
        volts = float(text.lower().removesuffix("v").strip())
    except ValueError:
        raise BadInput(CliRefusal.NO_VOLTAGE(text=text)) from None
    if not 0.0 <= volts <= 60.0:
        raise BadInput(CliRefusal.NO_RAIL_VOLTAGE(text=text, most_v=60.0))
    return volts
