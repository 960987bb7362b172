"""The commands: arguments in, exit codes out. The work is done by the package; nothing is decided here."""

import gc
import json
import os
import sys
import warnings
from collections.abc import Iterable
from contextlib import suppress
from enum import IntEnum, StrEnum
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn, TextIO

import typer
from msgspec.structs import asdict

from platekit import __version__
from platekit.errors import PlatekitError, SpecError

if TYPE_CHECKING:
    from platekit.checks import Verdict
    from platekit.layout import Layout


SELDOM = (100_000, 50, 50)
"""How seldom Python looks for memory to free (usually 700, 10, 10): a command is short, and so it starts sooner."""


class Exit(IntEnum):
    """What the exit code of every command means."""

    CLEAR = 0
    STOP = 1
    UNUSABLE = 2
    BUG = 3
    INTERRUPTED = 130


class DxfForm(StrEnum):
    """The forms of the cut file, for cutting software of different ages."""

    R2000 = "r2000"
    R12 = "r12"
    PLAIN = "plain"


class LengthUnit(StrEnum):
    """Units of length."""

    MM = "mm"
    IN = "in"


class ProcessName(StrEnum):
    """The ways of cutting a plate."""

    PLASMA = "plasma"
    LASER = "laser"
    WATERJET = "waterjet"
    OXY_FUEL = "oxy-fuel"
    ROUTER = "router"
    DRILL = "drill"


class OldPattern(StrEnum):
    """How the holes of the old machine lie."""

    CIRCLE = "circle"
    RECTANGLE = "rectangle"
    POINTS = "points"
    MEASURED = "measured"


class SeenFrom(StrEnum):
    """The side of the plate that the paper shows."""

    NEAR = "near"
    FAR = "far"


app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="One plate that carries an old bolt pattern and a new one, from readings to a file that can be cut.",
    epilog="Exit codes: 0 clear to cut, 1 a stop is open, 2 the input cannot be used, 3 a mistake in platekit itself.",
)

SpecPath = Annotated[Path, typer.Argument(metavar="SPEC", help="The spec, a YAML file.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print figures for a program instead of text.")]


@app.command(epilog='Example: platekit new mixer.yaml --motor "IEC 90 B14" --process laser --thickness "8 mm"')
def new(
    path: Annotated[Path, typer.Argument(metavar="SPEC", help="The file to write; must not exist.")],
    title: Annotated[str | None, typer.Option(help="What the plate is for.")] = None,
    units: Annotated[LengthUnit | None, typer.Option(help="Unit of bare numbers.")] = None,
    material: Annotated[str | None, typer.Option(help="Material, as `platekit tables` lists them.")] = None,
    thickness: Annotated[str | None, typer.Option(help="Thickness of the plate, such as `10 mm`.")] = None,
    process: Annotated[ProcessName | None, typer.Option(help="How the plate will be cut.")] = None,
    machine: Annotated[
        OldPattern | None,
        typer.Option(help="How the old holes lie; measured: readings of a caliper, which a survey solves."),
    ] = None,
    motor: Annotated[str | None, typer.Option(help="The new motor's designation.")] = None,
    take_up: Annotated[bool, typer.Option(help="Slots to put the belt on and tighten it.")] = True,
) -> None:
    """Write a commented spec to start from; asks for what is not given when run at a terminal."""
    from platekit.jobs.new import Answers, write_starter

    given = Answers(title, units, material, thickness, process, machine, motor, take_up)
    ask = typer.prompt if at_a_terminal(sys.stdin) and given.none_given else None
    try:
        written = write_starter(path, given, ask)
    except typer.Abort:
        raise typer.Exit(Exit.INTERRUPTED) from None
    typer.echo("\n".join(f"wrote {file}" for file in written))
    if machine is OldPattern.MEASURED:
        typer.echo(f"next: platekit survey {path} --plan lists the readings to take; put them in, then run it without")
    else:
        typer.echo(f"next: put your figures in, then run platekit check {path}")


@app.command(epilog="Example: platekit check specs/dough-mixer.yaml")
def check(
    spec: SpecPath,
    explain: Annotated[
        bool,
        typer.Option("--explain", help="Add tightest pairs, what governs them, order of assembly, and the way back."),
    ] = False,
    out: Annotated[
        Path, typer.Option(help="Folder with the folder of the spec's name, whose files are looked at.")
    ] = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Lay the plate out and say what stands against cutting it; cut files of a plate with a stop are taken away."""
    from platekit.export.standing import left_of

    layout, verdict = judged(spec, out, as_json)
    standing = left_of(layout, verdict, out, keep_clear=True)
    if as_json:
        from platekit.export.data.found_places import found_figures
        from platekit.export.data.plate import verdict_figures

        more = {}
        if explain:
            from platekit.jobs.explained import explained_figures

            progress("the tightest pairs")
            more = explained_figures(layout)
        show_json({**verdict_figures(verdict), **found_figures(layout), **more, **standing.figures()})
    else:
        from platekit.export.text.verdict import verdict_text

        typer.echo("\n".join([*standing.lines(), verdict_text(layout, verdict)]))
        if explain:
            from platekit.jobs.explained import explained_text

            progress("the tightest pairs")
            typer.echo(f"\n{explained_text(layout)}")
    raise typer.Exit(Exit.CLEAR if verdict.clear else Exit.STOP)


@app.command(epilog="Example: platekit make specs/dough-mixer.yaml")
def make(
    spec: SpecPath,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")] = Path("output"),
    dxf: Annotated[
        list[DxfForm] | None,
        typer.Option(help="Form of the cut file; may be given more than once. r2000 if left out."),
    ] = None,
    dxf_unit: Annotated[LengthUnit, typer.Option(help="Unit of the cut file.")] = LengthUnit.MM,
    kerf: Annotated[
        bool,
        typer.Option("--kerf", help="Write NAME.kerf.dxf too: paths half a kerf off the edge, with leads, in order."),
    ] = False,
    reference: Annotated[
        bool, typer.Option("--reference", help="Add bodies and finished holes to the cut file on a layer of their own.")
    ] = False,
    seen_from: Annotated[
        SeenFrom | None, typer.Option(help="Side of the plate that the paper shows; the spec's own if left out.")
    ] = None,
    solid: Annotated[bool, typer.Option("--solid/--no-solid", help="Write the STEP file; takes a few seconds.")] = True,
    as_json: AsJson = False,
) -> None:
    """Check the plate and write its files: picture, paper, report, and the cut files if nothing stops it."""
    from platekit.export.publishing import FilesWanted, publish

    layout, verdict = judged(spec, out, as_json)
    wanted = FilesWanted(
        forms=tuple(form.value for form in dxf or [DxfForm.R2000]),
        unit=dxf_unit.value,
        reference=reference,
        solid=solid,
        kerf=kerf,
        seen_from=None if seen_from is None else seen_from.value,
    )
    published = publish(layout, verdict, out, wanted, progress)
    if as_json:
        from platekit.export.data.found_places import found_figures
        from platekit.export.data.plate import verdict_figures

        files = [str(path) for path in published.written]
        removed = [str(path) for path in published.removed]
        show_json({**verdict_figures(verdict), **found_figures(layout), "files": files, "removed": removed})
    else:
        from platekit.cutting import capability_of, plan
        from platekit.export.data.cut_plan import plan_text
        from platekit.export.text.verdict import made_text, verdict_text

        typer.echo(verdict_text(layout, verdict))
        no_plan = "no time to tell: not to be cut so" if capability_of(layout).traits.table else "no cutting table"
        typer.echo(plan_text(plan(layout), layout.spec.unit) or no_plan)
        typer.echo(made_text(published))
    raise typer.Exit(Exit.CLEAR if verdict.clear else Exit.STOP)


@app.command(
    epilog="Example: platekit template specs/dough-mixer.yaml --measured "
    '"bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.0, falling=327.6"'
)
def template(
    spec: SpecPath,
    measured: Annotated[
        str | None,
        typer.Option(metavar="BARS", help="Bars and diagonals of a printed sheet; the paper is corrected for them."),
    ] = None,
    printer: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="With --measured, store the printer under this name; else correct for it."),
    ] = None,
    uncorrected: Annotated[
        bool, typer.Option("--uncorrected", help="Print as if no printer were known, to measure it anew.")
    ] = False,
    both_sides: Annotated[bool, typer.Option("--both-sides", help="Add the sheets of the plate's other side.")] = False,
    seen_from: Annotated[
        SeenFrom | None, typer.Option(help="Side of the plate that the paper shows; the spec's own if left out.")
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")] = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Write only the 1:1 paper; after measuring its bars, write it again corrected for the printer."""
    from platekit.jobs.template import PrintWanted, print_template

    layout, verdict = judged(spec, out, as_json)
    wanted = PrintWanted(
        seen_from=None if seen_from is None else seen_from.value,
        both_sides=both_sides,
        measured=measured,
        printer=printer,
        corrected=not uncorrected,
    )
    printed = print_template(layout, verdict, out, wanted)
    if as_json:
        show_json(printed.figures(verdict))
    else:
        typer.echo(printed.text(verdict))
    raise typer.Exit(Exit.CLEAR if verdict.clear else Exit.STOP)


Measured = Annotated[str | None, typer.Option(metavar="LENGTH", help="As measured, such as `165`, `6.5 in`.")]


Length = Annotated[str | None, typer.Option(metavar="LENGTH", help="With --choose; such as `250 mm`.")]


@app.command(epilog="Example: platekit drive specs/dough-mixer.yaml --choose --section A --section SPZ")
def drive(
    spec: SpecPath,
    choose: Annotated[
        bool, typer.Option("--choose", help="Rank stock pulleys and belts for the wanted speeds of the spec.")
    ] = False,
    closest: Length = None,
    farthest: Length = None,
    largest_driver: Length = None,
    largest_driven: Length = None,
    section: Annotated[
        list[str] | None, typer.Option(help="With --choose: a belt section to look at; all if left out.")
    ] = None,
    count: Annotated[int, typer.Option(min=1, max=1000, help="With --choose: how many are shown.")] = 10,
    write: Annotated[
        int | None,
        typer.Option(min=1, metavar="N", help="With --choose: write belt and pulleys of choice N into the spec."),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name, with the chart.")] = Path(
        "output"
    ),
    as_json: AsJson = False,
) -> None:
    """Work out the belt drive: centre distance, travel, forces, and speed, torque and power at the working shaft."""
    from platekit.export.standing import left_of
    from platekit.export.text import drive as told
    from platekit.studies.advised import judge
    from platekit.units import length

    layout = told.with_drive(laid_out(spec, as_json))
    if choose:
        from platekit.jobs import drive_choices as ranked

        given = (closest, farthest, largest_driver, largest_driven)
        near, far, small, large = (
            None if text is None else length(bare_number(text), layout.spec.unit) for text in given
        )
        progress("the ranking of all stock pulleys and belts")
        choices = ranked.choices_for(layout, ranked.ChoiceWanted(near, far, small, large, tuple(section or ()), count))
        written = None if write is None else ranked.write_choice(layout, choices, write)
        if as_json:
            show_json(ranked.choices_figures(choices))
        else:
            typer.echo(ranked.choices_text(layout, choices))
            if written is not None:
                typer.echo(f"\nwrote {written}")
        return
    verdict = judge(layout)
    standing = left_of(layout, verdict, out)
    chart = told.write_chart(layout, out)
    if as_json:
        show_json({**told.drive_figures(layout, verdict, chart), **standing.figures()})
    else:
        typer.echo("\n".join([*standing.lines(), told.drive_text(layout, verdict, chart)]))
    raise typer.Exit(Exit.CLEAR if told.drive_verdict(layout, verdict).clear else Exit.STOP)


@app.command(epilog='Example: platekit tables "IEC 90 B14", or: platekit tables --bolt-circle 165 --holes 4')
def tables(
    name: Annotated[str | None, typer.Argument(help="A designation, screw, drill, material, gauge or fit.")] = None,
    bolt_circle: Measured = None,
    holes: Annotated[int | None, typer.Option(metavar="COUNT", help="How many holes the pattern has.")] = None,
    pilot: Measured = None,
    width: Measured = None,
    height: Measured = None,
    shaft: Measured = None,
    as_json: AsJson = False,
) -> None:
    """Look up published dimensions by name, or find the standard that fits what was measured (in mm if no unit)."""
    from platekit import tables as books
    from platekit.units import length

    sizes = [None if text is None else length(bare_number(text), "mm") for text in (bolt_circle, pilot, width, height)]
    across = None if shaft is None else length(bare_number(shaft), "mm")
    if holes is not None or across is not None or any(size is not None for size in sizes):
        circle, register, wide, high = sizes
        candidates = books.search(
            bolt_circle=circle, holes=holes, pilot=register, width=wide, height=high, shaft=across
        )
        if as_json:
            show_json([books.candidate_figures(candidate) for candidate in candidates])
        else:
            typer.echo(books.found_text(candidates))
    elif name is None:
        typer.echo(books.overview())
    elif as_json:
        show_json(books.as_json(name))
    else:
        typer.echo(books.describe(name))


class MeritName(StrEnum):
    """What the places that are found are ranked by."""

    BALANCE = "balance"
    AREA = "area"
    BELT = "belt"
    CLEARANCE = "clearance"
    REACH = "reach"


@app.command(epilog="Example: platekit place specs/dough-mixer.yaml --mount motor")
def place(
    spec: SpecPath,
    mount: Annotated[
        str | None, typer.Option(metavar="NAME", help="The mount to place; the one with `at: find` if left out.")
    ] = None,
    by: Annotated[
        MeritName,
        typer.Option(
            help="What counts: plate area, nearness to the stock belt's distance, clearance, reach (from the mount's "
            "zero to the nearest mount that stays), or a balance of all."
        ),
    ] = MeritName.BALANCE,
    count: Annotated[int, typer.Option(min=1, max=24, help="How many places to look for.")] = 6,
    write: Annotated[
        int | None, typer.Option(min=1, metavar="N", help="Write place N into the spec; its comments stay.")
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")] = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Find places of a mount that nothing stops, best first, and show them side by side.

    In the spec, leave the place open: at: {find: {box: [[-140, -60], [140, 170]], turn: any, side: either}}, or on
    the arc that a belt allows: at: {find: {belt: {from: machine, angles: [60 deg, 120 deg]}}}. A place that is given
    (at: [x, y], at: {belt: ...}) is looked for anew with --mount.
    """
    from platekit.export.picture.places import search_figures, search_text, write_choices, write_place
    from platekit.studies.place import find_places, nothing_found

    try:
        search = find_places(spec, mount, by.value, count, working)
        if not search.places:
            raise nothing_found(search)
    except SpecError as error:
        raise unusable(error, as_json) from None
    written = [str(write_choices(search, out))]
    if write is not None:
        written.append(str(write_place(search, write)))
    if as_json:
        show_json(search_figures(search, written))
    else:
        typer.echo(search_text(search, [f"wrote {path}" for path in written]))


@app.command(epilog="Example: platekit compare specs/dough-mixer.yaml specs/dough-mixer.yaml")
def compare(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="The spec as it was.", show_default=False)],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The spec as it is now.", show_default=False)],
    out: Annotated[
        Path, typer.Option(help="Folder with the outputs of both; gets the overlay picture and 1:1 page.")
    ] = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Say what moved between two states of a spec, hole by hole, and which prints and cut files are void."""
    from platekit.analysis.compare import compare as compared
    from platekit.export.outdated import outdated_files
    from platekit.export.picture.overlay import write_overlay
    from platekit.export.text.difference import difference_figures, difference_text

    comparison = compared(laid_out(old, as_json), laid_out(new, as_json))
    void = outdated_files(comparison, out)
    written = [str(path) for path in write_overlay(comparison, out)]
    if as_json:
        show_json(difference_figures(comparison, void, written))
    else:
        typer.echo(difference_text(comparison, void, written))


@app.command(epilog="Example: platekit survey specs/pug-mill.yaml, or: platekit survey specs/pug-mill.yaml --plan")
def survey(
    spec: SpecPath,
    plan: Annotated[bool, typer.Option("--plan", help="List the readings to take, in order.")] = False,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")] = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Say where measured holes are, how surely, which reading is doubtful, and what to measure next."""
    from platekit.jobs.survey import measured, planned

    try:
        found = planned(spec) if plan else measured(spec, out)
    except SpecError as error:
        raise unusable(error, as_json) from None
    if as_json:
        show_json(found.figures)
    else:
        typer.echo(found.text)
    raise typer.Exit({"placed": Exit.CLEAR, "open": Exit.STOP, "unusable": Exit.UNUSABLE}[found.state])


@app.command(
    epilog='Example: platekit coupon --process plasma --thickness "10 mm"; then: platekit coupon --measured '
    "output/coupon-plasma-10mm.readings.yaml --machine shed.yaml"
)
def coupon(
    process: Annotated[ProcessName, typer.Option(help="How it will be cut.")] = ProcessName.PLASMA,
    thickness: Annotated[str, typer.Option(help="Thickness of the sheet, such as `10 mm`.")] = "10 mm",
    out: Annotated[Path, typer.Option(help="Folder that gets drawing, form and readings.")] = Path("output"),
    measured: Annotated[
        Path | None, typer.Option(metavar="READINGS", help="The filled-in readings; needs --machine.")
    ] = None,
    machine: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The machine file that gets the row; made if it is not there.")
    ] = None,
) -> None:
    """Write a test piece with its form, or turn the readings taken on it into a row of your machine's file."""
    from platekit.export.coupon import coupon_files, machine_row

    if measured is None:
        typer.echo("\n".join(f"wrote {path}" for path in coupon_files(process.value, bare_number(thickness), out)))
        typer.echo("next: cut it, measure it, fill in the readings, then run platekit coupon --measured READINGS")
    elif machine is None:
        raise PlatekitError("found --measured without --machine; name the machine file that gets the row")
    else:
        typer.echo(f"wrote {machine}: {machine_row(measured, machine)}")


@app.command(epilog="Example: platekit schema > specs/platekit.schema.json")
def schema() -> None:
    """Print the JSON Schema of the spec, for completion and help in an editor."""
    from platekit.spec import json_schema

    show_json(json_schema())


def judged(path: Path, out: Path, as_json: bool) -> tuple["Layout", "Verdict"]:
    """Layout and verdict of the spec at `path`; where it cannot be used, the cut files of its name under `out` go."""
    from platekit.studies.advised import judge

    try:
        layout = laid_out(path, as_json)
    except (PlatekitError, typer.Exit) as error:
        gone = after_unusable(path, out)
        if isinstance(error, PlatekitError):
            error.also += gone
        else:
            say_aside(gone)
        raise
    return layout, judge(layout)


def after_unusable(path: Path, out: Path) -> tuple[str, ...]:
    """Takes away the cut files of a spec that is there and cannot be used; gives what to say of it."""
    from platekit.export.standing import without_cut_files

    if not os.path.isfile(path):
        return ()
    try:
        removed = without_cut_files(out, path.stem)
    except PlatekitError as error:
        return (str(error),)
    return tuple(f"took away {gone}: its spec cannot be used as it is now" for gone in removed)


def laid_out(path: Path, as_json: bool) -> "Layout":
    """The layout of the spec at `path`; a spec that cannot be used ends the command, in JSON too if that is asked."""
    from platekit.layout import lay_out
    from platekit.spec import load
    from platekit.spec.places_to_find import to_be_found

    try:
        spec = load(path)
        if to_be_found(spec):
            from platekit.studies.place import found

            spec = found(spec, working)
        return lay_out(spec)
    except SpecError as error:
        raise unusable(error, as_json) from None


def unusable(error: SpecError, as_json: bool) -> Exception:
    """What ends the command when the spec cannot be used: the error itself, or, told in JSON, its exit code."""
    if not as_json:
        return error
    show_json({"verdict": "unusable", "problems": [asdict(problem) for problem in error.problems]})
    return typer.Exit(Exit.UNUSABLE)


def bare_number(text: str) -> float | str:
    """A number if the text is one, else the text, which then carries its own unit."""
    try:
        return float(text)
    except ValueError:
        return text


def progress(name: str) -> None:
    """Tells on a terminal which file is being made; says nothing into a pipe."""
    working(f"making {name}")


def working(words: str) -> None:
    """Tells on a terminal what is being done; says nothing into a pipe."""
    if at_a_terminal(sys.stderr):
        typer.echo(words, err=True)


def at_a_terminal(stream: TextIO | None) -> bool:
    """Whether someone sits at a stream; nobody does where it is closed."""
    return stream is not None and not stream.closed and stream.isatty()


def show_json(value: object) -> None:
    """Prints figures for a program."""
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False))


def main() -> None:
    """Runs a command; whatever goes wrong ends in a sentence and an exit code, never in a trace."""
    gc.set_threshold(*SELDOM)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "true")  # there are none, and looking for them takes a while
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # they are for whoever works on the program
    say_what_the_terminal_can_show()
    shown = sys.stdout
    try:
        in_a_folder()
        try:
            app(standalone_mode=True)
        except SystemExit:
            if sys.stdout is shown and shown is not None:
                shown.flush()
            # typer puts another stream there when nobody reads the output any more, and would end as a stop does
            elif sys.stdout is not shown:
                sys.exit(Exit.INTERRUPTED)
            raise
    except SpecError as error:
        if "--json" in sys.argv[1:]:
            with suppress(OSError):
                unusable(error, as_json=True)
        say_aside((*(problem.pointed() for problem in error.problems), *error.also))
        sys.exit(Exit.UNUSABLE)
    except PlatekitError as error:
        ended(str(error), error.also, Exit.UNUSABLE)
    except MemoryError:
        ended("there is not enough memory for this; close other programs, or split the work", (), Exit.UNUSABLE)
    except ModuleNotFoundError as error:
        if (error.name or "platekit").startswith("platekit"):
            ended(own_mistake(error), (), Exit.BUG)
        package = (error.name or "").partition(".")[0]
        ended(f"{package}, which this needs, is not installed; install platekit again", (), Exit.UNUSABLE)
    except OSError as error:
        if shown is None or not unwritten(shown):
            ended(own_mistake(error), (), Exit.BUG)
        reason = (error.strerror or str(error)).lower()
        say_aside((f"what is printed could not be written: {reason}; make room, or print it elsewhere",))
        sys.exit(Exit.UNUSABLE)
    except Exception as error:  # a mistake of ours: the trace goes to a file, the user gets a sentence
        ended(own_mistake(error), (), Exit.BUG)


def in_a_folder() -> None:
    """`PlatekitError` if the working folder was taken away: paths count from it."""
    try:
        os.getcwd()
    except OSError:
        raise PlatekitError("the working folder is not there any more; change to one that is") from None


def ended(sentence: str, also: tuple[str, ...], code: Exit) -> NoReturn:
    """Ends with a sentence; where JSON was asked for, as JSON too."""
    if "--json" in sys.argv[1:]:
        with suppress(OSError):
            show_json(
                {"verdict": "unusable" if code is Exit.UNUSABLE else "mistake", "message": sentence, "problems": []}
            )
    say_aside((sentence, *also))
    sys.exit(code)


def unwritten(stream: TextIO) -> bool:
    """Whether a stream takes no more; it is then turned away, so that Python does not try once more at its end."""
    try:
        stream.write("\n")
        stream.flush()
    except (OSError, ValueError):
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        return True
    return False


def say_aside(lines: Iterable[str]) -> None:
    """Says what is no result: what went wrong, what was taken away."""
    for line in lines:
        typer.echo(line, err=True)


def say_what_the_terminal_can_show() -> None:
    """From now on, signs that the terminal's encoding lacks are printed as question marks, not as a failure."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")


def own_mistake(error: Exception) -> str:
    """What to tell the user about a mistake in platekit; the trace is kept in a file, ready to send."""
    import tempfile
    import traceback

    lines = [f"platekit {__version__}, Python {sys.version}", *traceback.format_exception(error)]
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="platekit-mistake-", suffix=".txt", delete=False, encoding="utf-8"
        ) as stream:
            stream.write("\n".join(lines))
    except OSError:
        return "platekit made a mistake of its own, and could not write down which; nothing was cut or changed"
    return f"platekit made a mistake of its own; please send {stream.name} with your spec to its developers"
