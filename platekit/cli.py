"""The commands: arguments in, exit codes out. What a command does is in `jobs`; nothing is decided here."""

import json
import os
import sys
import warnings
from collections.abc import Callable, Iterable
from contextlib import suppress
from enum import IntEnum
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, NoReturn, TextIO, cast, get_args

import typer
from msgspec.structs import asdict

from platekit import __version__
from platekit.choices import (
    Form,
    HoleSearch,
    LookedAt,
    Merit,
    OldPattern,
    PictureFrame,
    PictureKind,
    Process,
    Side,
    Unit,
)
from platekit.errors import PlatekitError, SpecError, printable

if TYPE_CHECKING:
    from platekit.jobs.told import State, Told


class Exit(IntEnum):
    """What the exit code of every command means."""

    CLEAR = 0
    STOP = 1
    UNUSABLE = 2
    BUG = 3
    INTERRUPTED = 130


ENDS: "Final[dict[State, Exit]]" = {
    "clear": Exit.CLEAR,
    "placed": Exit.CLEAR,
    "done": Exit.CLEAR,
    "stop": Exit.STOP,
    "open": Exit.STOP,
    "unusable": Exit.UNUSABLE,
}
"""The exit code for what a job came to."""

Command = Callable[..., None]

HOW_TO_RUN: Final[dict[str, Any]] = {"pretty_exceptions_enable": False, "rich_markup_mode": None}
app = typer.Typer(
    no_args_is_help=True,
    help="One plate that carries an old bolt pattern and a new one, from readings to a file that can be cut.",
    epilog="Exit codes: 0 clear to cut, 1 a stop is open, 2 the input cannot be used, 3 a mistake in platekit itself.",
    **HOW_TO_RUN,
)


def say_version(wanted: bool) -> None:
    """Says which platekit this is, and ends."""
    if wanted:
        typer.echo(f"platekit {__version__}")
        raise typer.Exit


@app.callback()
def every_command(
    version: Annotated[
        bool, typer.Option("--version", callback=say_version, is_eager=True, help="Say which version this is, and end.")
    ] = False,
) -> None:
    """What goes before any command."""


def command(example: str) -> Callable[[Command], Command]:
    """Makes a function a command. The first line of its docstring stands in the list of commands, never cut short."""

    def made(function: Command) -> Command:
        summary = (function.__doc__ or "").partition("\n")[0].rstrip(".")
        return app.command(short_help=summary, epilog=f"Example: {example}")(function)

    return made


def tell(job: "Callable[[], Told]", as_json: bool = False) -> NoReturn:
    """Does a job, prints what it came to, and ends with the exit code of that; a spec that is no use is JSON, too."""
    try:
        told = job()
        if not as_json:
            # a path may hold what moves the terminal's cursor, or half a sign that no terminal takes
            typer.echo("\n".join(printable(line) for line in told.text.split("\n")))
        else:
            show_json(told.figures)
    except SpecError as error:
        if not as_json:
            raise
        show_json(unusable(error))
        say_aside(error.also)
        raise typer.Exit(Exit.UNUSABLE) from None
    raise typer.Exit(ENDS[told.state])


def one_of(words: Any) -> Callable[[str], str]:
    """What reads an option that may be given more than once, which typer does not do for a choice of words."""
    known = get_args(words)

    def read(text: str) -> str:
        if text not in known:
            raise typer.BadParameter(f"{text!r} is not one of {', '.join(map(repr, known))}.")
        return text

    return read


def offered(words: Any) -> str:
    """The words of a choice as a help shows them."""
    return f"<{'|'.join(get_args(words))}>"


SpecPath = Annotated[Path, typer.Argument(metavar="SPEC", help="The spec, a YAML file.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print figures for a program instead of text.")]
Out = Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")]
OUTPUT: Final = Path("output")
Paper = Annotated[Side | None, typer.Option(help="Side of the plate that the paper shows; the spec's own if left out.")]


@command("platekit open specs/dough-mixer.yaml")
def open(  # noqa: A001 - the command's own name; nothing here opens files
    spec: Annotated[
        Path | None, typer.Argument(metavar="SPEC", help="The spec, or a folder of specs; this folder if left out.")
    ] = None,
    out: Out = OUTPUT,
    port: Annotated[
        int, typer.Option(min=0, max=65535, metavar="N", help="Port of this machine; 0 takes a free one.")
    ] = 0,
    browser: Annotated[bool, typer.Option(help="Open it in the browser.")] = True,
) -> None:
    """Do the whole job on a page in the browser.

    The page is for this machine only. Each act on it is an edit of the spec, which every other command reads as well.
    """
    from platekit.page.opening import open_page

    open_page(spec, out, port, browser, typer.echo)


@command('platekit new mixer.yaml --motor "IEC 90 B14" --process laser --thickness "8 mm"')
def new(
    path: Annotated[Path, typer.Argument(metavar="SPEC", help="The file to write; must not exist.")],
    title: Annotated[str | None, typer.Option(metavar="WORDS", help="What the plate is for.")] = None,
    units: Annotated[Unit | None, typer.Option(help="Unit of bare numbers.")] = None,
    material: Annotated[
        str | None, typer.Option(metavar="NAME", help="Material, as `platekit tables` lists them.")
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Thickness of the plate, such as `10 mm`.")
    ] = None,
    process: Annotated[Process | None, typer.Option(help="How the plate will be cut.")] = None,
    machine: Annotated[
        OldPattern | None,
        typer.Option(help="How the old holes lie; measured: readings of a caliper, which a survey solves."),
    ] = None,
    motor: Annotated[
        str | None, typer.Option(metavar="NAME", help="The new motor by its standard name, such as `NEMA 56C`.")
    ] = None,
    take_up: Annotated[bool, typer.Option(help="Slots to put the belt on and tighten it.")] = True,
) -> None:
    """Write a commented spec to start from.

    Asks for what is not given when run at a terminal without options.
    """
    from platekit.jobs import new as job

    given = job.Answers(title, units, material, thickness, process, machine, motor, take_up)
    ask = typer.prompt if at_a_terminal(sys.stdin) and given.none_given else None
    try:
        tell(lambda: job.new(path, given, ask))
    except typer.Abort:
        raise typer.Exit(Exit.INTERRUPTED) from None


@command("platekit check specs/dough-mixer.yaml")
def check(
    spec: SpecPath,
    explain: Annotated[
        bool,
        typer.Option("--explain", help="Add tightest pairs, what governs them, order of assembly, and the way back."),
    ] = False,
    out: Annotated[
        Path, typer.Option(help="Folder with the folder of the spec's name, whose files are looked at.")
    ] = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Say what stands against cutting a plate.

    Lays the plate out and judges it; cut files of a plate with a stop are taken away.
    """
    from platekit.jobs import check as job

    tell(lambda: job.check(spec, out, explain, working), as_json)


@command("platekit make specs/dough-mixer.yaml")
def make(
    spec: SpecPath,
    out: Out = OUTPUT,
    dxf: Annotated[
        list[str] | None,
        typer.Option(
            help="Form of the cut file; may be given more than once. r2000 if left out.",
            parser=one_of(Form),
            autocompletion=lambda: list(get_args(Form)),  # of a choice of words typer would do it by itself
            metavar=offered(Form),
        ),
    ] = None,
    dxf_unit: Annotated[Unit, typer.Option(help="Unit of the cut file.")] = "mm",
    kerf: Annotated[
        bool,
        typer.Option("--kerf", help="Write NAME.kerf.dxf too: paths half a kerf off the edge, with leads, in order."),
    ] = False,
    reference: Annotated[
        bool, typer.Option("--reference", help="Add bodies and finished holes to the cut file on a layer of their own.")
    ] = False,
    seen_from: Paper = None,
    solid: Annotated[bool, typer.Option("--solid/--no-solid", help="Write the solid as a STEP file.")] = True,
    assembly: Annotated[
        bool,
        typer.Option("--assembly", help="Write NAME.assembly.step too: all parts, with names and colours."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check a plate and write its files.

    Picture, paper and report, and the cut files if nothing stops it.
    """
    from platekit.export.publishing import FilesWanted
    from platekit.jobs import make as job

    forms = cast("tuple[Form, ...]", tuple(dxf or ["r2000"]))
    wanted = FilesWanted(forms, dxf_unit, reference, solid, seen_from, kerf, assembly)
    tell(lambda: job.make(spec, out, wanted, working), as_json)


@command(
    "platekit template specs/dough-mixer.yaml --measured "
    '"bottom=271.3, top=271.2, left=184.4, right=184.5, rising=328.0, falling=327.6"'
)
def template(
    spec: SpecPath,
    measured: Annotated[
        str | None,
        typer.Option(metavar="BARS", help="Bars and diagonals of a printed page; the paper is corrected for them."),
    ] = None,
    printer: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="With --measured, store the printer under this name; else correct for it."),
    ] = None,
    uncorrected: Annotated[
        bool, typer.Option("--uncorrected", help="Print as if no printer were known, to measure it anew.")
    ] = False,
    both_sides: Annotated[bool, typer.Option("--both-sides", help="Add the pages of the plate's other side.")] = False,
    seen_from: Paper = None,
    out: Out = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Write only the 1:1 paper.

    After measuring its bars, write it again corrected for the printer.
    """
    from platekit.jobs import template as job

    wanted = job.PrintWanted(seen_from, both_sides, measured, printer, corrected=not uncorrected)
    tell(lambda: job.template(spec, out, wanted, working), as_json)


def most(what: str, example: str) -> Any:
    """What a length of `drive --choose` bounds, as its help says it."""
    return typer.Option(metavar="LENGTH", help=f"With --choose: {what}, such as `{example}`.")


@command("platekit drive specs/dough-mixer.yaml --choose --section A --section SPZ")
def drive(
    spec: SpecPath,
    choose: Annotated[
        bool, typer.Option("--choose", help="Rank stock pulleys and belts for the wanted speeds of the spec.")
    ] = False,
    closest: Annotated[str | None, most("shafts no closer together than this", "250 mm")] = None,
    farthest: Annotated[str | None, most("shafts no farther apart than this", "400 mm")] = None,
    largest_driver: Annotated[str | None, most("a driver pulley no larger than this", "100 mm")] = None,
    largest_driven: Annotated[str | None, most("a driven pulley no larger than this", "250 mm")] = None,
    section: Annotated[
        list[str] | None,
        typer.Option(metavar="SECTION", help="With --choose: a belt section to look at; all if left out."),
    ] = None,
    count: Annotated[int, typer.Option(min=1, max=1000, metavar="N", help="With --choose: how many are shown.")] = 10,
    write: Annotated[
        int | None,
        typer.Option(min=1, metavar="N", help="With --choose: write belt and pulleys of choice N into the spec."),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name, with the chart.")] = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Work out the belt drive, or choose one from stock.

    Centre distance, travel, forces, and speed, torque and power at the working shaft.
    """
    from platekit.jobs import drive as job
    from platekit.jobs.drive_choices import ChoiceWanted

    if choose:
        wanted = ChoiceWanted(closest, farthest, largest_driver, largest_driven, tuple(section or ()), count)
        tell(lambda: job.choose(spec, wanted, write, working), as_json)
    if write is not None:
        raise PlatekitError(
            "found --write without --choose; there is nothing to write: add --choose, which ranks the drives"
        )
    tell(lambda: job.drive(spec, out, working), as_json)


@command("platekit strength specs/wool-carder.yaml")
def strength(spec: SpecPath, as_json: AsJson = False) -> None:
    """Work out whether the plate holds what it carries.

    Stress, how far it bends, what each screw takes, and at which speeds it shakes; needs the masses of the parts.
    """
    from platekit.jobs import strength as job

    tell(lambda: job.strength(spec, working), as_json)


@command("platekit parts specs/apple-mill.yaml")
def parts(spec: SpecPath, out: Out = OUTPUT, as_json: AsJson = False) -> None:
    """List everything to buy and to cut.

    Belt, pulleys, screws by length, nuts, washers, spacers, sheet, with totals by part of the job; `make` writes the
    same list as a file.
    """
    from platekit.jobs import parts as job

    tell(lambda: job.parts(spec, out, working), as_json)


@command("platekit commissioning specs/apple-mill.yaml")
def commissioning(spec: SpecPath, out: Out = OUTPUT, as_json: AsJson = False) -> None:
    """Write the sheet for the first run and the first day.

    Motor and inverter for the electrician, rotation, guard and stop, belt tension, screws, speeds, noise and heat, with
    boxes for what is set and found; `make` writes it too.
    """
    from platekit.jobs import papers as job

    tell(lambda: job.commissioning(spec, out, working), as_json)


@command("platekit back specs/apple-mill.yaml")
def back(spec: SpecPath, out: Out = OUTPUT, as_json: AsJson = False) -> None:
    """Write labels for what comes off, and the way back.

    Photos to take before, and how the machine is made as it was, step by step; `make` writes it too.
    """
    from platekit.jobs import papers as job

    tell(lambda: job.going_back(spec, out, working), as_json)


Measured = Annotated[str | None, typer.Option(metavar="LENGTH", help="As measured, such as `165`, `6.5 in`.")]


@command('platekit tables "IEC 90 B14", or: platekit tables --bolt-circle 165 --holes 4')
def tables(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="NAME", help="A motor or flange by its standard name, a screw, drill, material, gauge or fit."
        ),
    ] = None,
    bolt_circle: Measured = None,
    holes: Annotated[int | None, typer.Option(metavar="COUNT", help="How many holes the pattern has.")] = None,
    pilot: Measured = None,
    width: Measured = None,
    height: Measured = None,
    shaft: Measured = None,
    own: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Your own tables too: the folder that a spec calls `tables`.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Look up published dimensions.

    By name, or the standard that fits what was measured (in mm if no unit).
    """
    from platekit.jobs import tables as job

    measured = job.MeasuredPart(bolt_circle, holes, pilot, width, height, shaft)
    tell(lambda: job.tables(name, measured, own), as_json)


@command("platekit place specs/dough-mixer.yaml --mount motor")
def place(
    spec: SpecPath,
    mount: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="The mount (a part that the plate bolts to) to place; the one with `at: find` if left out.",
        ),
    ] = None,
    by: Annotated[
        Merit,
        typer.Option(
            help="What counts: plate area, nearness to the stock belt's distance, clearance, reach (from the mount's "
            "zero to the nearest mount that stays), or a balance of all."
        ),
    ] = "balance",
    count: Annotated[int, typer.Option(min=1, max=24, metavar="N", help="How many places to look for.")] = 6,
    write: Annotated[
        int | None, typer.Option(min=1, metavar="N", help="Write place N into the spec; its comments stay.")
    ] = None,
    out: Out = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Find places where a part may go: nothing stops it there.

    Shows them side by side, best first.

    In the spec, leave the place open: at: {find: {box: [[-140, -60], [140, 170]], turn: any, side: either}}, or on
    the arc that a belt allows: at: {find: {belt: {from: machine, angles: [60 deg, 120 deg]}}}. A place that is given
    (at: [x, y], at: {belt: ...}) is looked for anew with --mount. Two mounts with `at: find` are placed together: begun
    from eight spots of one, then each in turn beside the other; not all pairs are looked at.
    """
    from platekit.jobs import place as job

    tell(lambda: job.place(spec, out, mount, by, count, write, working), as_json)


@command("platekit sweep specs/dough-mixer.yaml --over plate.thickness=6,8,10 --over mounts.motor.turn=0,45,75")
def sweep(
    spec: SpecPath,
    over: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FIELD=VALUES",
            help="A field of the spec and its values, with commas between them; may be given more than once.",
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(min=1, max=256, metavar="N", help="Processes that share the work; one a core if left out."),
    ] = None,
    out: Out = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Judge a family of plates.

    Every combination of the values, each laid out and checked: mass, cost, odds, first frequency, belt, as a list and
    a picture to choose from. Ctrl-C ends it with what is done.
    """
    from platekit.jobs import sweep as job

    tell(lambda: job.sweep(spec, out, tuple(over or ()), workers, working), as_json)


@command("platekit compare specs/dough-mixer.yaml specs/dough-mixer.yaml")
def compare(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="The spec as it was.", show_default=False)],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The spec as it is now.", show_default=False)],
    out: Annotated[
        Path, typer.Option(help="Folder with the outputs of both; gets the overlay picture and 1:1 page.")
    ] = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Say what moved between two states of a spec.

    Hole by hole, and which prints and cut files are void.
    """
    from platekit.jobs import compare as job

    tell(lambda: job.compare(old, new, out, working), as_json)


@command("platekit survey specs/pug-mill.yaml, or: platekit survey specs/pug-mill.yaml --plan")
def survey(
    spec: SpecPath,
    plan: Annotated[bool, typer.Option("--plan", help="List the readings to take, in order.")] = False,
    out: Out = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Say where measured holes are, and how surely.

    Which reading is doubtful, and what to measure next. Sigma is the usual error of a reading or a place: two out of
    three are better.
    """
    from platekit.jobs import survey as job

    tell(lambda: job.planned(spec) if plan else job.measured(spec, out, working), as_json)


@command("platekit frame --size a4 --looking-at face")
def frame(
    size: Annotated[PictureFrame, typer.Option(help="The paper.")] = "a4",
    looking_at: Annotated[
        LookedAt | None,
        typer.Option(
            help="What its picture will show, printed in its coded corners; `read` holds it against the spec."
        ),
    ] = None,
    printer: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Correct for this printer, as `template` stored it in the folder printers."),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder that gets the page.")] = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Write the page that a picture of the old face is taken with.

    Marks round a window for the part say where in the picture a millimetre is; `platekit read` finds them and the
    holes.
    """
    from platekit.jobs import frame as job

    tell(lambda: job.frame(size, looking_at, printer, out), as_json)


@command(
    "platekit read scan.png --spec press.yaml; then: platekit read scan.png --spec press.yaml --mount face --write"
)
def read(
    picture: Annotated[
        Path, typer.Argument(metavar="PICTURE", help="The scan or photo, taken with the frame.", show_default=False)
    ],
    spec: Annotated[Path, typer.Option(metavar="SPEC", help="The spec whose pattern it shows.", show_default=False)],
    mount: Annotated[
        str | None, typer.Option(metavar="NAME", help="The mount that it shows; the one that is measured if left out.")
    ] = None,
    at: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=X,Y",
            help="Where a hole is, mm off the grid of the picture that `read` draws; its diameter may follow. May be "
            "given more than once.",
        ),
    ] = None,
    kind: Annotated[PictureKind | None, typer.Option(help="How it was taken; found out if left out.")] = None,
    find: Annotated[
        HoleSearch,
        typer.Option(help="How holes are looked for: where the pattern has them, only by --at, or all over."),
    ] = "pattern",
    looking_at: Annotated[
        LookedAt | None, typer.Option(help="What the picture shows, where the frame does not say.")
    ] = None,
    measured: Annotated[
        str | None, typer.Option(metavar="BARS", help="Bars and diagonals of the printed frame, as for `template`.")
    ] = None,
    sigma: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="The usual error of a place off this picture; 0.1 mm if left out."),
    ] = None,
    outline: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y",
            help="Follow the closed edge round this place (mm off the same grid) and write it as a DXF file for "
            "`drawn`.",
        ),
    ] = None,
    write: Annotated[bool, typer.Option("--write", help="Write the places into the spec; its comments stay.")] = False,
    out: Out = OUTPUT,
    as_json: AsJson = False,
) -> None:
    """Read hole places off a scan or a photo.

    They go into the survey as readings of one free scale, with two or three caliper readings that set it and show a
    slip. Draws what was seen; needs the extra `scan`.
    """
    from platekit.jobs import read as job

    wanted = job.ReadWanted(mount, tuple(at or ()), kind, looking_at, measured, sigma, write, outline, find)
    tell(lambda: job.read(picture, spec, out, wanted, working), as_json)


@command(
    'platekit coupon --process plasma --thickness "10 mm"; then: platekit coupon --measured '
    "output/coupon-plasma-10mm.readings.yaml --machine shed.yaml"
)
def coupon(
    process: Annotated[Process, typer.Option(help="How it will be cut.")] = "plasma",
    thickness: Annotated[
        str, typer.Option(metavar="LENGTH", help="Thickness of the sheet, such as `10 mm`.")
    ] = "10 mm",
    out: Annotated[Path, typer.Option(help="Folder that gets drawing, form and readings.")] = OUTPUT,
    measured: Annotated[
        Path | None, typer.Option(metavar="READINGS", help="The filled-in readings; needs --machine.")
    ] = None,
    machine: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The file of your cutting table that gets the row; made if it is not there."),
    ] = None,
) -> None:
    """Write a test piece, or take its readings.

    The test piece comes with a form; the readings taken on it become a row of your cutting table's file.
    """
    from platekit.jobs import coupon as job

    if measured is None:
        tell(lambda: job.coupon(process, thickness, out))
    if machine is None:
        raise PlatekitError("found --measured without --machine; name the machine file that gets the row")
    tell(lambda: job.machine_row(measured, machine))


@command("platekit schema > specs/platekit.schema.json")
def schema() -> None:
    """Print the rules of a spec for an editor.

    A JSON Schema: an editor that reads it completes keys and explains them while a spec is typed.
    """
    from platekit.jobs import schema as job

    tell(job.schema)


def unusable(error: SpecError) -> dict[str, object]:
    """A spec that cannot be used, told to a program."""
    return {"verdict": "unusable", "problems": [asdict(problem) for problem in error.problems]}


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
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "true")  # there are none, and looking for them takes a while
    # our matrices are small: threads that wait for each other on them take several times the work, and bring nothing
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
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
        # the second only where the first takes more: asking costs a line
        if not any(stream is not None and unwritten(stream) for stream in (shown, sys.stderr)):
            ended(own_mistake(error), (), Exit.BUG)
        reason = (error.strerror or str(error)).lower()
        say_aside((f"what is printed could not be written: {reason}; make room, or print it elsewhere",))
        sys.exit(Exit.UNUSABLE)
    except Exception as error:  # a mistake of ours: the trace goes to a file, the user gets a sentence
        ended(own_mistake(error), (), Exit.BUG)


def only_the_command_named(words: list[str]) -> None:
    """Forgets all commands but the one that comes first, if it is one: reading the options of all takes a while.

    So does building those that stand before a command, which then has none before it.
    """
    global app
    named = [one for one in app.registered_commands if one.callback and one.callback.__name__ == (words or [""])[0]]
    if named:
        app = typer.Typer(add_completion=False, **HOW_TO_RUN)
        app.callback()(lambda: None)  # or typer would make the one command the whole program
        app.registered_commands[:] = named


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
    try:
        for line in lines:
            typer.echo(line, err=True)
    except OSError:
        # nobody can be told any more; the exit code still tells, and Python's own last flush must not change it
        if sys.stderr is not None:
            unwritten(sys.stderr)


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
