"""Files that a person writes or brings: profiles, scenarios, shop, words, photos, values, keys."""

from __future__ import annotations

import io
import os
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Meaning
from burnin.core.quantities.quantity import parse_meter, parse_quantity
from burnin.profile.loader import load_profile, profile_names
from burnin.replay.judge_files import Told, judge_files
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.word_files import Tables, take_file, words_of
from burnin.sim.scenario.build import build_card
from burnin.sim.scenario.model import cause_scenario_names, load_scenario, scenario_names
from burnin.ticket.before_power.points import parse_point
from burnin.ticket.before_power.value_file import read_csv
from burnin.ticket.intake.photos import check_photo, small_jpeg
from burnin.ticket.log.whole_ticket import Photo, WholeTicket
from burnin.ticket.shop.known_keys import known_keys
from burnin.ticket.shop.shop_file import load_shop, logo_bytes, write_example
from burnin.ticket.shop.shop_key import shop_key
from tests.fuzz.target import Files, Target

ROOT = Path(__file__).parents[3]
RECORDINGS = ROOT / "tests" / "data"


def _profile_seeds(room: Path) -> Sequence[Files]:
    names = profile_names()
    return [{"p.toml": (ROOT / "profiles" / f"{name}.toml").read_bytes()} for name in names]


def _profile(room: Path, given: Files) -> None:
    load_profile(str(room / "p.toml"))


def _scenario_seeds(room: Path) -> Sequence[Files]:
    folder = ROOT / "burnin" / "sim"
    files = [folder / "scenarios" / f"{name}.toml" for name in scenario_names()]
    files += [folder / "cause_scenarios" / f"{name}.toml" for name in cause_scenario_names()]
    return [{"s.toml": file.read_bytes()} for file in files if file.exists()]


def _scenario(room: Path, given: Files) -> None:
    build_card(load_scenario(str(room / "s.toml")), 1)


@contextmanager
def shop_at(folder: Path) -> Iterator[None]:
    """While inside, the shop's file and key are looked for there."""
    before = os.environ.get("BURNIN_SHOP")
    os.environ["BURNIN_SHOP"] = str(folder)
    try:
        yield
    finally:
        os.environ.pop("BURNIN_SHOP")
        if before is not None:
            os.environ["BURNIN_SHOP"] = before


def _shop_seeds(room: Path) -> Sequence[Files]:
    folder = room / "shop"
    folder.mkdir()
    write_example(folder)
    logo = b'name = "Wrenfield"\nlogo = "logo.svg"\nmeter = "0.8%+0.2"\ntime_zone = "Asia/Tokyo"\n'
    return [
        {"shop.toml": (folder / "shop.toml").read_bytes()},
        {"shop.toml": logo, "logo.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>"},
    ]


def _shop(room: Path, given: Files) -> None:
    with shop_at(room):
        shop = load_shop()
        logo_bytes(shop)
        for language in shop.languages:
            shop.warranty_in(language)
            shop.cautions_in(language)
        if shop.meter:
            parse_meter(shop.meter)
        if shop.default_profile:
            load_profile(shop.default_profile)


def _key_seeds(room: Path) -> Sequence[Files]:
    folder = room / "keys"
    shop_key(folder)
    return [
        {name: (folder / name).read_bytes() for name in ("shop-key.pem", "shop-public.pem")},
        {"shop-key.pem": b"", "shop-public.pem": b""},
    ]


def _key(room: Path, given: Files) -> None:
    path = room / "shop-key.pem"
    if path.exists():
        path.chmod(0o600)
        with suppress(BadInput):
            shop_key(room)
    known_keys(room / "nowhere", room / "shop-public.pem")


@cache
def _english() -> Tables:
    return words_of("en")


def _word_seeds(room: Path) -> Sequence[Files]:
    folder = ROOT / "burnin" / "report" / "languages"
    names = ("sheet", "customer", "internal", "core", "record", "ticket", "card")
    found = [{"w.xx.toml": (folder / f"{name}.de.toml").read_bytes()} for name in names]
    stage = ROOT / "burnin" / "stages" / "link" / "words.de.toml"
    return [*found, {"w.xx.toml": stage.read_bytes()}]


_SAID = ("x", 3, 2.5, True, Meaning("file_not_offered", (("name", "x"),)), ("a", 1), None)


def _words(room: Path, given: Files) -> None:
    tables = {name: dict(table) for name, table in _english().items()}
    fresh = take_file(tables, room / "w.xx.toml")
    words = Catalogue("xx", tables)
    for code in list(fresh.get("says", {}))[:40]:
        fields = tuple(_places(words, code))
        for value in _SAID:
            words.say(Meaning(code, tuple((name, value) for name in fields)))
    for name in fresh.get("readings", {}):
        words.reading(f"{name} DP-1", unit=True)
    words.moment("2026-03-10T09:15:00Z")
    words.moment_after("2026-03-10T09:15:00Z")
    words.number("1,234.5")
    for kind in fresh.get("showed", {}):
        words.showed(kind)


def _places(words: Catalogue, code: str) -> Iterator[str]:
    import string

    for _, name, _, _ in string.Formatter().parse(words.template(code)):
        if name is not None:
            yield name


@cache
def _pictures() -> dict[str, bytes]:
    from PIL import Image

    image = Image.linear_gradient("L").resize((24, 16)).convert("RGB")
    found = {}
    for kind in ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP"):
        out = io.BytesIO()
        image.save(out, kind)
        found[kind] = out.getvalue()
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Corvane"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    return {**found, "turned": out.getvalue()}


def _photo_seeds(room: Path) -> Sequence[Files]:
    return [{"ticket/photos/p.jpg": content} for content in _pictures().values()]


def _photo(room: Path, given: Files) -> None:
    ticket = WholeTicket(room, "1", "2026-03-02T09:15:00Z", {})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        small_jpeg(ticket, Photo("p.jpg", "", "p.jpg", "", for_customer=False))
        check_photo(room / "ticket" / "photos" / "p.jpg")


def _recording_seeds(room: Path) -> Sequence[Files]:
    known = (
        b"# limit_c = 90\n# has_fan = true\n# cooling = fans\n# ambient_c = 22\n"
        b"# plan = [[0, 150], [30, 300]]\n# hotspot_limit_c = 100\n"
    )
    found = []
    for path in (RECORDINGS / "load_steps.csv", *sorted(RECORDINGS.glob("held_power/*.csv"))[:2]):
        lines = path.read_bytes().split(b"\n")
        found.append({"r.csv": known + b"\n".join(lines[:40]) + b"\n"})
    row = b"time_s,power_w,gpu_temp_c,hotspot_temp_c,memory_temp_c,fan_rpm,energy_j\n"
    rows = b"".join(b"%d,200,%d,70,60,1400,%d\n" % (n, 40 + n, 200 * n) for n in range(20))
    return [*found, {"r.csv": known + row + rows}]


def _recording(room: Path, given: Files) -> None:
    told: list[Told] = list(judge_files([str(room / "r.csv")], None))
    for one in told:
        if isinstance(one.result, str):
            raise BadInput(one.result)


def _meter_seeds(room: Path) -> Sequence[Files]:
    text = "point,value,unit,uncertainty\nB14,0.452,V,0.01\nB14-trace,0.3,ohm,\nB15,OL,V,\n"
    return [{"m.csv": text.encode()}]


def _meter(room: Path, given: Files) -> None:
    for entry in read_csv(room / "m.csv"):
        parse_quantity(entry.text, parse_point(entry.point, None).unit)


TARGETS = (
    Target("profile", _profile_seeds, _profile),
    Target("scenario", _scenario_seeds, _scenario),
    Target("shop_file", _shop_seeds, _shop),
    Target("keys", _key_seeds, _key),
    Target("language", _word_seeds, _words),
    Target("photo", _photo_seeds, _photo),
    Target("recording", _recording_seeds, _recording),
    Target("meter_file", _meter_seeds, _meter),
)
