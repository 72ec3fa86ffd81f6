"""Commands that only tell what there is: cards, contacts, scenarios, profiles, practice."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors, told
from burnin.cli.options import Json, Language, Results
from burnin.cli.ticket_options import Shown
from burnin.core.errors import BurninError

profiles_app = typer.Typer(help="What a class of card must show.", no_args_is_help=True)


def mount_bench(app: typer.Typer) -> None:
    """Add the command that looks at this bench."""
    app.command()(cards)


def mount(app: typer.Typer) -> None:
    """Add the commands that look things up."""
    app.command()(practise)
    app.command()(contacts)
    app.command()(scenarios)
    app.command("help")(help_)
    app.add_typer(profiles_app, name="profiles")


def help_(
    topic: Annotated[
        str, typer.Argument(help="such as values, verdicts, errors; left out: all that there are")
    ] = "",
    language: Shown = "en",
) -> None:
    """A page on one thing: values, tickets, runs, verdicts, records, guards..."""
    import shutil

    from burnin.cli.help_topics import help_lines
    from burnin.report.languages.catalogue import catalogue

    with plain_errors(language):
        width = shutil.get_terminal_size((80, 24)).columns
        for line in help_lines(topic, catalogue(language), width):
            typer.echo(line)


def cards(
    why: Annotated[
        bool,
        typer.Option(
            "--why",
            help="which right each thing that is read or done takes, whether this account has"
            " it, and what goes unmeasured without",
        ),
    ] = False,
    simulated: Annotated[
        str, typer.Option("--simulated", help="of the simulated machine: scenario or file")
    ] = "",
    results: Results = Path("results"),
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """What graphics cards are in this bench, and how their links stand now."""
    with plain_errors(language):
        if why:
            import shutil

            from burnin.cli.rights_lines import list_rights

            code = list_rights(
                as_json,
                typer.echo,
                simulated=simulated,
                results=results,
                language=language,
                width=shutil.get_terminal_size((100, 24)).columns,
            )
        else:
            from burnin.cli.listing import list_cards

            code = list_cards(as_json, typer.echo, simulated=simulated, language=language)
    raise typer.Exit(code)


def practise(
    seed: Annotated[int, typer.Option(help="which fault; the same number, the same fault")] = 1,
    measure: Annotated[
        str, typer.Option(help="contacts to put the meter on, e.g. B14,B15")
    ] = "",
    answer: Annotated[str, typer.Option(help="what you think it is")] = "",
    show: Annotated[bool, typer.Option("--show", help="show the cause")] = False,
) -> None:
    """Find an undisclosed fault of the simulated machine with the tool's own stages."""
    from burnin.sim.practise import answers as practice
    from burnin.sim.practise.meter import meter_text

    with plain_errors():
        if measure:
            names = [part.strip() for part in measure.split(",") if part.strip()]
            typer.echo(meter_text(seed, names))
        elif answer:
            typer.echo(practice.judge_answer(seed, answer).text)
        elif show:
            typer.echo(practice.cause_text(seed))
        else:
            typer.echo(practice.task_text(seed))


def contacts(
    names: Annotated[
        list[str] | None, typer.Argument(help="contacts, e.g. B82 A35 8pin/4 hdmi/19")
    ] = None,
    lane: Annotated[int | None, typer.Option(help="all contacts of a lane, 0 to 15")] = None,
    group: Annotated[str, typer.Option(help="all of a group, e.g. presence, power")] = "",
    as_json: Json = False,
) -> None:
    """What contacts carry, what damage there does, which stage shows it, what to measure."""
    import shutil

    from burnin.connector.contact_text import contacts_text
    from burnin.report.languages.catalogue import catalogue

    with plain_errors():
        width = shutil.get_terminal_size((80, 24)).columns
        say = catalogue("en").say
        typer.echo(contacts_text(names or [], lane, group or None, as_json, width, say))


def scenarios(
    causes: Annotated[
        bool, typer.Option("--causes", help="explain every kind of cause with its fields")
    ] = False,
    as_json: Json = False,
) -> None:
    """The simulated machine's scenarios, and the causes that a scenario may name."""
    from burnin.cli.listing import list_causes, list_scenarios

    with plain_errors():
        if causes:
            list_causes(as_json, typer.echo)
        else:
            list_scenarios(as_json, typer.echo)


@profiles_app.command("list")
def profiles_list(as_json: Json = False) -> None:
    """The profiles there are."""
    from burnin.cli.listing import list_profiles

    with plain_errors():
        list_profiles(as_json, typer.echo)


@profiles_app.command("check")
def profiles_check(
    files: Annotated[list[str], typer.Argument(help="names or files of profiles")],
    language: Shown = "en",
) -> None:
    """Check profiles; every fault is named with file, field, value and what is allowed."""
    with plain_errors(language):
        code = _each(files, language)
    raise typer.Exit(code)


def _each(files: list[str], language: str) -> int:
    from burnin.cli.terms import ScreenTerm
    from burnin.profile.loader import load_profile
    from burnin.report.languages.catalogue import catalogue

    code, words = 0, catalogue(language)
    for name in files:
        try:
            loaded = load_profile(name)
            count = len(loaded.profile.stages)
            typer.echo(words.say(ScreenTerm.PROFILE_GOOD(file=loaded.file, stages_count=count)))
        except BurninError as error:
            typer.echo(told(error, words), err=True)
            code = 2
    return code


@profiles_app.command("schema")
def profiles_schema() -> None:
    """The JSON Schema of the profile format, for editors."""
    from burnin.profile.loader import profile_schema

    with plain_errors():
        typer.echo(profile_schema())
