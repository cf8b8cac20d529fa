"""The verbs at the command line: read the file, call the study, write what it gives. No physics.

A new verb is one function that gives an ``Outcome`` and one ``Verb`` in ``VERBS``. What a verb works
with is imported inside it, so that a light verb stays light.
"""

from __future__ import annotations

import argparse
import difflib
import io
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from designer.errors import InputError, Unreachable
from designer.output import Destination, Progress, json_text, write_all

if TYPE_CHECKING:
    from designer.project import Project

DONE, UNSAFE, UNREADABLE, INTERRUPTED = 0, 1, 2, 130
EXAMPLE = "example:"


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a verb gives: text for people, the same for machines, files to write, exit status."""

    text: str
    data: dict[str, Any]
    status: int = DONE
    files: tuple[tuple[Path, str], ...] = ()
    stale: tuple[Path, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Verb:
    """One verb: its line of help, an example that runs as printed, its arguments and its work."""

    name: str
    help: str
    example: str
    arguments: tuple[str, ...]
    run: Callable[[argparse.Namespace], Outcome]


def _project(name: str, verb: str) -> Project:
    """The project of a file, or of one of the examples as ``example:NAME``, held against the verb."""
    from designer.circuits import BUILT
    from designer.errors import InputErrors
    from designer.project import load
    from designer.project.requirements import unbuilt

    project = load(_file(name), verb)
    faults = list(unbuilt(project, BUILT))
    if faults:
        raise InputErrors(faults)
    return project


def _file(name: str) -> Path:
    if not name.startswith(EXAMPLE):
        return Path(name)
    folder = Path(__file__).parent / "examples"
    known = sorted(path.stem for path in folder.glob("*.toml"))
    wanted = name[len(EXAMPLE):]
    if wanted not in known:
        near = difflib.get_close_matches(wanted, known, n=1)
        raise InputError("FILE", name, ", ".join(f"{EXAMPLE}{stem}" for stem in known),
                         f"Did you mean {near[0]}?" if near else "")
    return folder / f"{wanted}.toml"


def _new(args: argparse.Namespace) -> Outcome:
    from designer.project.template import template

    text = template(args.circuit)
    data = {"circuit": args.circuit, "file": text, "format": 1}
    if args.output is None:
        return Outcome(text=text, data=data)
    path = Path(args.output)
    if path.exists() and not path.is_dir() and path.read_bytes() != text.encode():
        raise InputError("-o", args.output, "a file that does not exist yet", "It would be written over.")
    return Outcome(text=f"Wrote {args.output}: fill in its blanks.\n", data=data, files=((path, text),))


def _status(good: bool) -> int:
    return DONE if good else UNSAFE


def _with_page(outcome: Outcome, args: argparse.Namespace, maker: str, found: object) -> Outcome:
    """The same with a page to write, where one is asked for: ``maker`` names module and function in sheet/."""
    if args.output is None:
        return outcome
    module, _, name = maker.partition(".")
    page: str = getattr(import_module(f"designer.sheet.{module}"), name)(found)
    path = Path(args.output)
    return replace(outcome, text=f"{outcome.text.rstrip()}\n\nWrote {path}\n", files=((path, page),))


def _pinout(args: argparse.Namespace) -> Outcome:
    from designer.project import load

    project = load(_file(args.file), "pinout")
    from designer.sheet.pinout_text import pinout_table
    from designer.studies.pinout import pinout, pinout_json

    report = pinout(project)
    outcome = Outcome(text=pinout_table(report), data=pinout_json(report), status=_status(report.pinout.wireable))
    return _with_page(outcome, args, "pinout_page.build_pinout", report)


def _characterise(args: argparse.Namespace) -> Outcome:
    from designer.project import load

    project = load(_file(args.file), "characterise")
    from designer.sheet.characterise_text import characterise_table
    from designer.studies.characterise import characterise, characterise_json

    report = characterise(project)
    outcome = Outcome(text=characterise_table(report), data=characterise_json(report), status=_status(report.sound))
    return _with_page(outcome, args, "characterise_page.build_characterised", report)


def _solve(args: argparse.Namespace) -> Outcome:
    project = _project(args.file, "solve")
    from designer.studies.export import point_json
    from designer.studies.solve import solve
    from designer.studies.terminal import point_table

    point = solve(project)
    return Outcome(text=point_table(point), data=point_json(point), status=_status(point.reached))


def _design(args: argparse.Namespace) -> Outcome:
    project = _project(args.file, "design")
    from designer.sheet.terminal import design_tables
    from designer.studies.design import design
    from designer.studies.export import design_json

    made = design(project, progress=Progress(sys.stderr).told)
    text, data, status = design_tables(made), design_json(made), _status(made.ready)
    if args.output is None:
        return Outcome(text=text, data=data, status=status)
    from designer.sheet.files import files_of

    sheet = Path(args.output)
    files, stale = files_of(made, sheet)
    wrote = "".join(f"Wrote {path}\n" for path, _ in files)
    return Outcome(text=f"{text.rstrip()}\n\n{wrote}", data=data, status=status, files=files, stale=stale)


def _compare(args: argparse.Namespace) -> Outcome:
    from designer.project import load

    project = load(_file(args.file), "compare")
    from designer.sheet.compare_text import compare_tables
    from designer.studies.compare import compare
    from designer.studies.compare_json import compare_json

    found = compare(project)
    outcome = Outcome(text=compare_tables(found), data=compare_json(found), status=_status(found.first.fits))
    return _with_page(outcome, args, "compare_page.build_compare", found)


def _check(args: argparse.Namespace) -> Outcome:
    project = _project(args.file, "check")
    from designer.sheet.check_text import check_tables
    from designer.studies.check import check, check_json

    found = check(project)
    outcome = Outcome(text=check_tables(found), data=check_json(found), status=_status(found.sound))
    return _with_page(outcome, args, "check_page.build_check", found)


def _tolerance(args: argparse.Namespace) -> Outcome:
    project = _project(args.file, "design")
    from designer.sheet.spread_text import spread_tables
    from designer.studies.spread import spread_design
    from designer.studies.spread_json import spread_json

    made = spread_design(project, samples=args.samples, seed=args.seed, progress=Progress(sys.stderr).told)
    outcome = Outcome(text=spread_tables(made), data=spread_json(made.spread), status=_status(made.spread.sound))
    return _with_page(outcome, args, "spread_page.build_spread", made)


def _explain(args: argparse.Namespace) -> Outcome:
    from designer.studies import explain

    text = explain.listing() if args.name is None else explain.explain(args.name)
    return Outcome(text=text, data=explain.explain_json(args.name))


def _schema(args: argparse.Namespace) -> Outcome:
    from designer.project.schema import schema

    return Outcome(text=json_text(schema()), data=schema())


VERBS: tuple[Verb, ...] = (
    Verb(name="new", help="write a commented project file for a circuit", run=_new, arguments=("circuit", "output"),
         example="brushbench new triac-series"),
    Verb(name="pinout", help="what hangs on each connector pin, and how to wire it", run=_pinout,
         arguments=("file", "output"), example="brushbench pinout example:washer-pins -o washer-pins.html"),
    Verb(name="characterise", help="the motor's constants from bench readings, each with its uncertainty",
         run=_characterise, arguments=("file", "output"),
         example="brushbench characterise example:fan-readings -o fan-readings.html"),
    Verb(name="solve", help="one operating point: waveform, currents, torque, speed, losses", run=_solve,
         arguments=("file",), example="brushbench solve example:drill-press-reference"),
    Verb(name="design", help="component values, checks, build sheet and parts list", run=_design,
         arguments=("file", "output"), example="brushbench design example:fan-fixed -o fan-fixed.html"),
    Verb(name="check", help="your own parts against the stresses at the worst corner", run=_check,
         arguments=("file", "output"), example="brushbench check example:fan-own-parts -o fan-own-parts.html"),
    Verb(name="tolerance", help="how far builds lie apart: Monte Carlo on the full model, and what matters most",
         run=_tolerance, arguments=("file", "samples", "seed", "output"),
         example="brushbench tolerance example:fan-fixed --samples 1000 -o fan-fixed-spread.html"),
    Verb(name="compare", help="every circuit that could do it, side by side, ranked, with the reasons", run=_compare,
         arguments=("file", "output"), example="brushbench compare example:fan-fixed -o fan-fixed-compared.html"),
    Verb(name="explain", help="one formula, or the list of all", run=_explain, arguments=("name",),
         example="brushbench explain copper-resistance"),
    Verb(name="schema", help="the JSON Schema of the project file, for editors", run=_schema, arguments=(),
         example="brushbench schema --json project.schema.json"),
)

_ARGUMENTS: dict[str, tuple[tuple[str, ...], dict[str, Any]]] = {
    "circuit": (("circuit",), {"metavar": "CIRCUIT", "help": "for instance triac-series"}),
    "file": (("file",), {"metavar": "FILE", "help": "project file, or example:NAME for one of the examples"}),
    "name": (("name",), {"metavar": "NAME", "nargs": "?", "help": "name of a formula; without it, the list"}),
    "samples": (("--samples",), {"metavar": "N", "type": int, "help": "how many; 10000 or the file's unless told"}),
    "seed": (("--seed",), {"metavar": "N", "type": int, "help": "the same seed gives the same samples"}),
    "output": (("-o", "--output"), {"metavar": "OUT", "help": "write to this file"}),
}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brushbench", allow_abbrev=False,
        description="From a salvaged commutator motor to a safe fixed-speed supply.",
        epilog="Exit status: 0 done; 1 done, and something is unsafe or out of reach; 2 the file cannot be read as "
        "a design; 130 interrupted. The sheet is a calculation, not an approval.",
    )
    parsers = parser.add_subparsers(dest="verb", metavar="VERB", required=True)
    for verb in VERBS:
        sub = parsers.add_parser(
            verb.name, help=verb.help, description=f"{verb.help[:1].upper()}{verb.help[1:]}.", allow_abbrev=False,
            epilog=f"example:\n  {verb.example}", formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        for name in verb.arguments:
            flags, options = _ARGUMENTS[name]
            sub.add_argument(*flags, **options)
        sub.add_argument("--json", metavar="OUT", help='write the whole result as JSON; "-" for standard output')
        sub.set_defaults(run=verb.run)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one verb on ``argv`` and give the exit status: 0 done, 1 unsafe or out of reach, 2 unreadable."""
    _as_utf8(sys.stdout)
    _as_utf8(sys.stderr)
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        args = _parser().parse_args(words)
        outcome = args.run(args)
        _write(outcome, args)
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return UNSAFE if isinstance(error, Unreachable) else UNREADABLE
    except KeyboardInterrupt:
        sys.stderr.write("brushbench: interrupted\n")
        return INTERRUPTED
    except BrokenPipeError:  # the reader of our output has gone: nothing to tell it
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    return int(outcome.status)


def _write(outcome: Outcome, args: argparse.Namespace) -> None:
    """Write every file, then standard output; ``--json -`` leaves nothing else there."""
    files = [Destination(path=path, text=text) for path, text in outcome.files]
    if args.json not in (None, "-"):
        files.append(Destination(path=Path(args.json), text=json_text(outcome.data)))
    source = getattr(args, "file", None)
    write_all(files, sources=[] if source is None else [_file(source)], stale=outcome.stale)
    sys.stdout.write(json_text(outcome.data) if args.json == "-" else outcome.text)
    sys.stdout.flush()


def _as_utf8(stream: object) -> None:
    """The same bytes whatever the locale says."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(encoding="utf-8", newline="\n", errors="backslashreplace")
