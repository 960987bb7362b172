"""The commands: arguments in, exit codes out. The work is done by the package; nothing is decided here."""

from __future__ import annotations

import json
import sys
import tempfile
import traceback
from enum import IntEnum, StrEnum
from pathlib import Path
from typing import Annotated

import typer

from platekit import __version__
from platekit.errors import PlatekitError, SpecError


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


class DxfUnit(StrEnum):
    """The unit that the cut file is drawn in."""

    MM = "mm"
    IN = "in"


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


@app.command(epilog="Example: platekit check specs/dough-mixer.yaml")
def check(spec: SpecPath, as_json: AsJson = False) -> None:
    """Lay the plate out and say what stands against cutting it."""
    from platekit.checks import check as judge
    from platekit.layout import lay_out
    from platekit.spec import load

    layout = lay_out(load(spec))
    verdict = judge(layout)
    if as_json:
        from platekit.export.figures import verdict_figures

        show_json(verdict_figures(verdict))
    else:
        from platekit.export.screen import verdict_text

        typer.echo(verdict_text(layout, verdict))
    raise typer.Exit(Exit.CLEAR if verdict.clear else Exit.STOP)


@app.command(epilog="Example: platekit make specs/dough-mixer.yaml")
def make(
    spec: SpecPath,
    out: Annotated[Path, typer.Option(help="Folder that gets a folder with the spec's name.")] = Path("output"),
    dxf: Annotated[
        list[DxfForm] | None,
        typer.Option(help="Form of the cut file; may be given more than once. r2000 if left out."),
    ] = None,
    dxf_unit: Annotated[DxfUnit, typer.Option(help="Unit of the cut file.")] = DxfUnit.MM,
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
    from platekit.checks import check as judge
    from platekit.export.publish import Wanted, publish
    from platekit.export.screen import made_text, verdict_text
    from platekit.layout import lay_out
    from platekit.spec import load

    layout = lay_out(load(spec))
    verdict = judge(layout)
    wanted = Wanted(
        forms=tuple(form.value for form in dxf or [DxfForm.R2000]),
        unit=dxf_unit.value,
        reference=reference,
        solid=solid,
        seen_from=None if seen_from is None else seen_from.value,
    )
    published = publish(layout, verdict, out, wanted, progress)
    if as_json:
        from platekit.export.figures import verdict_figures

        files = [str(path) for path in published.written]
        show_json({**verdict_figures(verdict), "files": files})
    else:
        typer.echo(verdict_text(layout, verdict))
        typer.echo(made_text(published))
    raise typer.Exit(Exit.CLEAR if verdict.clear else Exit.STOP)


@app.command(epilog="Example: platekit schema > specs/platekit.schema.json")
def schema() -> None:
    """Print the JSON Schema of the spec, for completion and help in an editor."""
    from platekit.spec import json_schema

    show_json(json_schema())


def progress(name: str) -> None:
    """Tells on a terminal which file is being made; says nothing into a pipe."""
    if sys.stderr.isatty():
        typer.echo(f"making {name}", err=True)


def show_json(value: object) -> None:
    """Prints figures for a program."""
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False))


def main() -> None:
    """Runs a command; whatever goes wrong ends in a sentence and an exit code, never in a trace."""
    try:
        app(standalone_mode=True)
    except SpecError as error:
        for problem in error.problems:
            typer.echo(problem.pointed(), err=True)
        sys.exit(Exit.UNUSABLE)
    except PlatekitError as error:
        typer.echo(str(error), err=True)
        sys.exit(Exit.UNUSABLE)
    except Exception as error:  # a mistake of ours: the trace goes to a file, the user gets a sentence
        typer.echo(own_mistake(error), err=True)
        sys.exit(Exit.BUG)


def own_mistake(error: Exception) -> str:
    """What to tell the user about a mistake in platekit; the trace is kept in a file, ready to send."""
    lines = [f"platekit {__version__}, Python {sys.version}", *traceback.format_exception(error)]
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="platekit-mistake-", suffix=".txt", delete=False, encoding="utf-8"
        ) as stream:
            stream.write("\n".join(lines))
    except OSError:
        return "platekit made a mistake of its own, and could not write down which; nothing was cut or changed"
    return f"platekit made a mistake of its own; please send {stream.name} with your spec to its developers"
