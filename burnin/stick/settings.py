"""What a bench is set to: keyboard, language, time zone, shop; asked once, kept on the stick."""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict, dataclass, fields
from importlib.resources import files
from pathlib import Path
from zoneinfo import available_timezones

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.files.disk import replace_whole
from burnin.stick.refusals import StickRefusal

FILE = "bench.toml"
LANGUAGES = ("en", "de")
_SHOP_CHARACTERS = 120


@dataclass(frozen=True)
class Settings:
    """Empty where nobody has said yet."""

    keyboard: str = ""
    language: str = ""
    time_zone: str = ""
    shop: str | None = None

    @property
    def complete(self) -> bool:
        """Whether nothing is left to ask."""
        return bool(self.keyboard and self.language and self.time_zone) and self.shop is not None


def keyboards() -> tuple[str, ...]:
    """Layouts that the stick carries, by the names of the X keyboard extension."""
    return tuple((files("burnin.stick") / "root" / "keyboards.txt").read_text("utf-8").split())


def read_settings(file: Path) -> Settings:
    """Settings of a file, none where there is no file; raises BadInput for what is not allowed."""
    if not file.is_file():
        return Settings()
    name = file.name
    try:
        content = tomllib.loads(read_at_most(file, TEXT_BYTES).decode("utf-8-sig"))
    except ValueError as error:
        raise BadInput(StickRefusal.SETTINGS_TORN(file=name, words=str(error))) from None
    known = {field.name for field in fields(Settings)}
    for key, value in content.items():
        if key not in known or not isinstance(value, str) or not allowed(key, value):
            told = str(value)[:_SHOP_CHARACTERS]
            raise BadInput(StickRefusal.SETTING_WRONG(file=name, key=key, value=told))
    return Settings(**content)


def allowed(key: str, value: str) -> bool:
    """Whether a setting may have this value."""
    if key == "keyboard":
        return value in keyboards()
    if key == "language":
        return value in LANGUAGES
    if key == "time_zone":
        return value in available_timezones()
    return len(value) <= _SHOP_CHARACTERS and value.isprintable()


def write_settings(file: Path, settings: Settings) -> None:
    """Keep them; what stood there before is replaced as a whole."""
    told = {key: value for key, value in asdict(settings).items() if value is not None}
    # A JSON text in quotation marks is a TOML text too, for what is printable.
    lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in told.items()]
    replace_whole(file, ("\n".join(lines) + "\n").encode())
