"""How long the shop lets what a known-good card showed count."""

from __future__ import annotations

from burnin.run.proven.shown import ProofAge
from burnin.ticket.shop.shop_file import load_shop


def proof_age() -> ProofAge:
    """As the shop file says, else the usual; raises BadInput for a faulty one."""
    shop = load_shop()
    return ProofAge(shop.bench_proof_days, shop.bench_proof_starts)
