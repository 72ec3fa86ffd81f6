"""The shop: name, address, logo, languages, warranty, cautions by region; one TOML file.

It lies with the shop's key in the folder that BURNIN_SHOP names, else in burnin/ of the account's
configuration folder (XDG Base Directory Specification 0.8).
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.files.private_files import private_folder
from burnin.core.system import cannot_read, cannot_write
from burnin.profile.diagnostics import explain, read_toml
from burnin.profile.refusals import ProfileRefusal
from burnin.run.batch.budget import PowerOfBench
from burnin.ticket.shop.refusals import ShopRefusal

Language = Literal["en", "de"]
FILE = "shop.toml"


class ProfileRule(BaseModel):
    """Which profile cards of a kind get in a batch, where no ticket names one."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    card: str = Field(
        min_length=2, max_length=80,
        description="words of the card's name, or vendor:device in hexadecimal digits",
    )  # fmt: skip
    profile: str = Field(min_length=1, max_length=200)

    def fits(self, name: str, vendor_id: int, device_id: int) -> bool:
        """Whether it speaks of a card."""
        wanted = self.card.casefold().strip()
        if wanted == f"{vendor_id:04x}:{device_id:04x}":
            return True
        return set(wanted.split()) <= set(name.casefold().split())


class Shop(BaseModel):
    """What every sheet says of the shop; all of it may be left out."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    name: str = Field(default="", max_length=120)
    address: tuple[Annotated[str, Field(max_length=120)], ...] = Field(default=(), max_length=6)
    logo: str = Field(default="", description="SVG or PNG beside this file")
    languages: tuple[Language, ...] = Field(default=("en",), min_length=1)
    paper: Literal["a4", "letter"] = "a4"
    region: str = Field(default="", max_length=40)
    warranty: Mapping[Language, Annotated[str, Field(max_length=600)]] = Field(default_factory=dict)
    cautions: Mapping[str, Mapping[Language, tuple[str, ...]]] = Field(
        default_factory=dict, description="by region: what local rules ask to be said"
    )
    default_profile: str = ""
    technician: str = ""
    meter: str = Field(default="", description="accuracy of the meter, such as 0.8%+0.2")
    bench_proof_days: float = Field(
        default=30.0, gt=0.0, le=3650.0, description="days for which a known-good run counts"
    )
    bench_proof_starts: int = Field(
        default=50, ge=1, le=100_000, description="starts of the bench for which it counts"
    )
    history_names: bool = Field(
        default=False, description="customers' names stand in the history, not pseudonyms"
    )
    history_server: str = Field(
        default="", max_length=300,
        description="the shop's PostgreSQL, as postgresql://bench3@shop.example/burnin",
    )  # fmt: skip
    time_zone: str = Field(default="UTC", description="IANA name; dates on the customer's sheet")
    power: PowerOfBench | None = Field(
        default=None, description="what supply and circuit carry, where cards are burnt in together"
    )
    card_profiles: tuple[ProfileRule, ...] = Field(
        default=(), description="profiles of a batch by kind of card; the first that fits counts"
    )

    def warranty_in(self, language: Language) -> str:
        """The warranty text in a language, else in the first that has one."""
        return self.warranty.get(language) or next(iter(self.warranty.values()), "")

    def cautions_in(self, language: Language) -> tuple[str, ...]:
        """The region's cautions in a language, else in the first that has them."""
        here = self.cautions.get(self.region, {})
        return here.get(language) or next(iter(here.values()), ())


def shop_folder() -> Path:
    """Where shop file and key lie; it need not exist."""
    named = os.environ.get("BURNIN_SHOP", "")
    if named:
        return Path(named)
    base = os.environ.get("XDG_CONFIG_HOME", "")
    return (Path(base) if base else Path.home() / ".config") / "burnin"


def load_shop(folder: Path | None = None) -> Shop:
    """The shop file, or an empty shop where there is none; raises BadInput for a faulty one."""
    path = (folder or shop_folder()) / FILE
    if not path.is_file():
        return Shop()
    text, content = read_toml(path)
    try:
        shop = Shop.model_validate_json(json.dumps(content, default=str))
    except ValidationError as error:
        raise BadInput(explain(error, str(path), text)) from error
    except (ValueError, RecursionError) as error:
        raise BadInput(ProfileRefusal.UNUSABLE(file=str(path), words=str(error))) from error
    _check_time_zone(shop.time_zone, path)
    return shop


def logo_bytes(shop: Shop, folder: Path | None = None) -> tuple[bytes, str]:
    """The logo and its kind (svg, png), nothing where there is none; raises BadInput."""
    if not shop.logo:
        return b"", ""
    path = (folder or shop_folder()) / shop.logo
    kind = path.suffix.lower().removeprefix(".")
    if kind not in ("svg", "png"):
        raise BadInput(ShopRefusal.LOGO_KIND(file=str(path)))
    try:
        content = read_at_most(path, TEXT_BYTES)
        if kind == "svg" and b"<!ENTITY" in content.upper():
            raise BadInput(ShopRefusal.LOGO_ENTITIES(file=str(path)))
        return content, kind
    except OSError as error:
        raise BadInput(cannot_read(path, error)) from error
    except ValueError as error:  # a zero byte in its name
        raise BadInput(ShopRefusal.NO_LOGO(file=path.name)) from error


def _check_time_zone(name: str, path: Path) -> None:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise BadInput(ShopRefusal.NO_TIME_ZONE(file=str(path), name=name)) from error


def write_example(folder: Path, language: str = "en") -> Path:
    """Write a shop file to fill in; raises BadInput where there is one, or it cannot be written."""
    path = folder / FILE
    if path.exists():
        raise BadInput(ShopRefusal.THERE_ALREADY(file=str(path)))
    try:
        private_folder(folder)
        path.write_text(_example(language), encoding="utf-8")
    except OSError as error:
        raise BadInput(cannot_write(path, error)) from error
    return path


def _example(language: str) -> str:
    """The example, whose sheets are made in the language that it is asked for in."""
    if language != "de":
        return EXAMPLE
    german = EXAMPLE.replace('languages = ["en"]', 'languages = ["de"]')
    for english, told in _IN_GERMAN.items():
        german = german.replace(english, told)
    return german


_IN_GERMAN = {
    'en = "The repair is covered for 90 days. Damage by a fall or by liquid is not."':
        'de = "Auf die Reparatur geben wir 90 Tage Garantie. Schäden durch Sturz oder Flüssigkeit'
        ' sind ausgenommen."',
    'en = ["Old parts are taken back free of charge."]':
        'de = ["Altteile nehmen wir kostenlos zurück."]',
}
EXAMPLE = """\
# The shop, as every sheet names it.
name = "Wrenfield Board Repair"
address = ["4 Kiln Lane", "Wrenfield"]
# logo = "logo.svg"                 # SVG or PNG beside this file
languages = ["en"]                  # en, de; one customer's sheet is made in each
paper = "a4"                        # a4 or letter
region = ""                         # picks the cautions below
time_zone = "UTC"
default_profile = "desktop_air"
technician = ""
bench_proof_days = 30              # how long a known-good card's run proves a slot,
bench_proof_starts = 50            # and for how many starts of the bench
meter = "1%+0.05"                   # accuracy: per cent of reading + fixed part in ohm
# history_server = "postgresql://bench3@shop.example/burnin"   # several benches, one history

# Where several cards are burnt in together (burnin run --every-card):
# [power]
# supply_w = 1600                   # what the supply gives for long, W
# circuit_w = 2300                  # what the circuit carries for long
# bench_w = 200                     # what the bench draws from the supply, cards aside
# beside_w = 150                    # what else hangs on the circuit
# supply_efficiency = 0.8           # the supply's own figure at full load, if you know a better one
# step_w_per_s = 800                # fastest rise of all cards together; left out: as they rise
# card_rests_w = 50                 # what a card at rest is counted at, at least
# card_w_at_most = 450              # what a card may draw that tells no power limit
# [[card_profiles]]                 # where no ticket names a profile; the first that fits counts
# card = "Corvane Silt"             # words of its name, or vendor:device such as f5a7:0004
# profile = "short_x8"

[warranty]
en = "The repair is covered for 90 days. Damage by a fall or by liquid is not."

[cautions.example]
en = ["Old parts are taken back free of charge."]
"""
