"""Where the server is, and that nothing goes to another machine but through TLS.

Names of parameters, and what each mode of TLS promises: PostgreSQL's documentation of libpq,
"Connection Strings" and "SSL Support".
"""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason

SCHEMES = ("postgresql://", "postgres://")
BY_TLS = ("require", "verify-ca", "verify-full")
_ROOTS = Path(".postgresql", "root.crt")


@dataclass(frozen=True)
class Address:
    """A server's address: what the driver is given, and how it is shown, without a password."""

    given: dict[str, str]
    shown: str
    here: bool


def is_server(target: str) -> bool:
    """Whether a target names a server and no folder."""
    return target.startswith(SCHEMES)


def address_of(target: str) -> Address:
    """The address in a URL; raises BadInput where it is none, or would do without TLS."""
    import psycopg
    from psycopg.conninfo import conninfo_to_dict

    try:
        given = {name: str(value) for name, value in conninfo_to_dict(target).items()}
    except psycopg.ProgrammingError as error:
        raise BadInput(HistoryReason.SERVER_ADDRESS(words=str(error).strip())) from None
    given.setdefault("dbname", "burnin")
    shown, here = _shown(given), _is_here(given)
    if not here:
        mode = given.setdefault("sslmode", os.environ.get("PGSSLMODE") or "verify-full")
        if mode not in BY_TLS:
            raise BadInput(HistoryReason.SERVER_NEEDS_TLS(server=shown, mode=mode))
        if not os.environ.get("PGSSLROOTCERT") and not (Path.home() / _ROOTS).exists():
            given.setdefault("sslrootcert", "system" if mode == "verify-full" else "")
    given.setdefault("connect_timeout", "5")
    given.setdefault("application_name", "burnin")
    return Address({**given, "gssencmode": "disable"}, shown, here)


def _is_here(given: dict[str, str]) -> bool:
    """Whether every server that may answer is on this machine: a socket, or the loop back to it."""
    if given.get("service") or os.environ.get("PGSERVICE"):
        return False  # a file elsewhere says where it is
    names = [
        given.get(name) or os.environ.get(variable, "")
        for name, variable in (("host", "PGHOST"), ("hostaddr", "PGHOSTADDR"))
    ]
    return all(_loops_back(one) for name in names for one in name.split(",") if one)


def _loops_back(host: str) -> bool:
    if host.startswith(("/", "@")) or host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _shown(given: dict[str, str]) -> str:
    user = f"{quote(given['user'])}@" if given.get("user") else ""
    port = f":{given['port']}" if given.get("port") else ""
    host = quote(given.get("host") or given.get("hostaddr", ""), safe="")
    return f"postgresql://{user}{host}{port}/{quote(given['dbname'])}"
