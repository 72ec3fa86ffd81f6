"""Which store is meant: a folder, or the shop's server; a name goes before the shop file.

Also what a store needs of the shop: names in a customer's place, and the key of the seals.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.history.meanings import HistoryReason
from burnin.history.pseudonym import Named, history_key, pseudonyms
from burnin.history.server.address import Address, address_of, is_server
from burnin.ticket.shop.shop_file import Shop, shop_folder

if TYPE_CHECKING:
    from burnin.history.opened import History
    from burnin.history.server.keeper import Shelf


@dataclass(frozen=True)
class Target:
    """A folder, or a server."""

    folder: Path
    server: Address | None = None

    @property
    def shown(self) -> str:
        """As a person reads it."""
        return self.server.shown if self.server is not None else str(self.folder)


def target_of(given: str, results: Path, shop: Shop) -> Target:
    """What is named, else the shop's server, else the folder beside the records.

    Raises BadInput for a faulty address, or where the server's driver is not installed.
    """
    from burnin.history.needs import require_driver
    from burnin.history.store import store_folder

    wanted = given or shop.history_server
    if not is_server(wanted):
        return Target(Path(wanted) if wanted else store_folder(results))
    require_driver()
    return Target(store_folder(results), address_of(wanted))


@contextmanager
def opened(target: Target) -> Iterator[History]:
    """Open it for questions; raises BadInput."""
    if target.server is not None:
        from burnin.history.server.opened import open_server

        with open_server(target.server) as history:
            yield history
        return
    from burnin.history.opened import open_history

    with open_history(target.folder) as embedded:
        yield embedded


def names(*, names_kept: bool) -> tuple[Named, Reason | None]:
    """What stands in a customer's place, and why it is nothing where no key can be had."""
    if names_kept:
        return str.strip, None
    folder = shop_folder()
    try:
        return pseudonyms(folder), None
    except OSError as error:
        why = HistoryReason.NO_PSEUDONYM(words=f"{folder}: {error.strerror or error}")
        return _nobody, why


def shelf_of(results: Path) -> Shelf:
    """This folder's part of the server, and the key of its seals; raises BadInput without one."""
    from burnin.history.server.keeper import Shelf, origin_of
    from burnin.history.server.seal import SealKey

    folder = shop_folder()
    try:
        key = history_key(folder)
    except OSError as error:
        words = f"{folder}: {error.strerror or error}"
        raise BadInput(HistoryReason.NO_SEAL_KEY(words=words)) from error
    return Shelf(origin_of(results), SealKey.of(key))


def _nobody(customer: str) -> str:
    del customer
    return ""
