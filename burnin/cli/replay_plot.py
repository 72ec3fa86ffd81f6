"""`burnin replay FILE --plot OUT`: a recording or record before its guards, drawn."""

from __future__ import annotations

from pathlib import Path

from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput
from burnin.profile.loader import load_profile
from burnin.replay.course import course_of_file
from burnin.replay.judge_files import STANDARD_INPUT


def draw_replay(files: list[str], profile: str | None, target: Path, language: str) -> None:
    """Write the drawing; raises BadInput where there is not one file, or another form is asked."""
    from burnin.report.languages.catalogue import catalogue
    from burnin.report.plots.of_replay import draw_course
    from burnin.report.sheet.printed_verdict import banners

    if len(files) != 1 or files[0] == STANDARD_INPUT:
        raise BadInput(CliRefusal.PLOT_ONE())
    words = catalogue(language)
    loaded = None if profile is None else load_profile(profile)
    course, record = course_of_file(Path(files[0]), loaded)
    over = () if record is None else tuple(words.say(banner) for banner in banners(record))
    draw_course(course, target, words, over)
