"""The commands, but for opening the screen. Data on standard output, messages on standard error."""

from __future__ import annotations

import argparse
import errno
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, NoReturn, get_args

from hearthcalc import __version__, files
from hearthcalc.entry import cut, hidden, shown, visible
from hearthcalc.errors import NOT_READ, EntryError, FileError, HearthError, UsageError

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path
    from typing import TextIO

    from hearthcalc.findings import Assessment, StageResult
    from hearthcalc.job import Job
    from hearthcalc.lengths import Unit
    from hearthcalc.quick import Quick
    from hearthcalc.reference import Edition
    from hearthcalc.whatif.sweep import Sweep

EXIT_FAULT = 70
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
MOST_PLACES = 20  # named at once
PATH_SHOWN = (100, 200)  # characters of a path or a place in a file: of its beginning, of its end
FIXES = {
    **dict.fromkeys(NO_ROOM, "Make room, or choose another place."),
    **dict.fromkeys((errno.EMFILE, errno.ENFILE), "Close some programs, and run it again."),
}
FILES = ("job", "report", "table", "output")  # arguments that name one
JOB_HELP = "a job file, demo or demo:NAME, or - for standard input"


class _Parser(argparse.ArgumentParser):
    """A parser whose mistakes are told as all others are."""

    def error(self, message: str) -> NoReturn:
        what = f"{self.prog}: {cut(message, 150, 100)}."
        raise UsageError("Wrong use of the command", what, fix=f"See {self.prog} --help.")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command. Returns the exit code: 0, 1 or 3 by verdict, 2 wrong use, 4 a file, 70 a fault of the program."""
    words = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace" if stream is sys.stdin else "backslashreplace")
    try:
        code = _run(words)
        sys.stdout.flush()  # while it can still be told that the answer found no room
        return code
    except HearthError as err:
        err.where = cut(err.where, *PATH_SHOWN)
        _print(f"hearthcalc: {err.title}. {err}", file=sys.stderr)
        return err.exit_code
    except BrokenPipeError:
        _no_more_output()
        sys.stderr.close()
        return NOT_READ
    except Exception as err:
        if isinstance(err, OSError) and err.errno in NO_ROOM:
            _no_more_output()
            _print(
                f"hearthcalc: Cannot write the answer. {err.strerror}. Make room, and run it again.",
                file=sys.stderr,
            )
            return FileError.exit_code
        _print(
            f"hearthcalc: a fault of the program, not of your job: {type(err).__name__}: {cut(str(err), 300)}.",
            file=sys.stderr,
        )
        return EXIT_FAULT


def _print(text: str, *, end: str = "\n", file: TextIO | None = None, flush: bool = False) -> None:
    """Print for a person: no control or direction character that came from a file or an argument gets to the terminal."""
    print("\n".join(map(visible, text.split("\n"))), end=end, file=file, flush=flush)


def _print_json(record: object) -> None:
    """Print for a program: what does not show is written as JSON writes it, and reads back as it was."""
    text = json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False)
    print(
        "\n".join(
            line if line.isprintable() else "".join(json.dumps(c)[1:-1] if hidden(c) else c for c in line)
            for line in text.split("\n")
        )
    )


def _no_more_output() -> None:
    """Let what was not written go: Python would try once more at the end, and print a complaint."""
    if isinstance(sys.stdout, TextIOWrapper):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _run(words: list[str]) -> int:
    if words and not words[0].startswith("-") and words[0] not in COMMANDS:
        words = ["check", *words]
    parser = _parser(words)
    arguments = parser.parse_args(words)
    if not hasattr(arguments, "run"):
        parser.print_help()
        return 0
    for name in FILES:
        if getattr(arguments, name, None) == "":
            raise UsageError(
                "Wrong use of the command",
                f"The name of the {'file to write' if name == 'output' else name} is empty.",
                fix="Give the name of a file.",
            )
    run: Callable[[argparse.Namespace], int] = arguments.run
    return run(arguments)


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    """A parser that knows every command, and the arguments of those that are among the words: some load much that they are told from."""
    parser = _Parser(
        prog="hearthcalc",
        description="Checks a masonry fireplace, its hearth and its flue against published reference values before a brick is cut. "
        "Without a command it opens the screen on a job; with --plain it asks and answers in lines.",
        epilog="Exit codes: 0 all judged meets; 1 something is short; 3 nothing is short but something is close, to be measured or to be "
        "referred; 2 wrong use; 4 a file; 70 a fault of the program. Write ./check for a file of that name.",
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)
    for name, (help_text, add, run) in COMMANDS.items():
        command = commands.add_parser(name, help=help_text, description=help_text)
        if name in words:
            add(command)
        command.set_defaults(run=run)
    return parser


def _add_check(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    _add_telling(command)


def _add_demo(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "name", metavar="NAME", nargs="?", default="", help="inn, schoolhouse or stonehouse; inn unless given"
    )
    _add_telling(command)


def _add_telling(command: argparse.ArgumentParser) -> None:
    command.add_argument("--json", action="store_true", help="the findings as JSON")
    command.add_argument(
        "--explain", action="store_true", help="with the working and the basis of each finding"
    )
    command.add_argument("--edition", metavar="ID", help="judge by this edition instead of the job's")
    command.add_argument("--stage", choices=("found", "planned"), help="only this stage")


def _check(arguments: argparse.Namespace) -> int:
    name = arguments.job if hasattr(arguments, "job") else f"demo:{arguments.name}"
    job = _job(name)
    return _tell(job, _edition_of(job, name, arguments), name, arguments)


def _edition_of(job: Job, name: str, arguments: argparse.Namespace) -> Edition:
    """The edition asked for, else the job's own. Raises UsageError, FileError."""
    try:
        return _edition(arguments.edition or job.about.edition, name, job.about.amendments or "")
    except UsageError as err:
        if arguments.edition:
            raise
        raise FileError(err.title, err.what, where=f"{name}: about.edition", fix=err.fix) from err


def _job(name: str) -> Job:
    """The job of a file, of a demo, or of standard input for "-". Raises FileError, UsageError."""
    from hearthcalc import jobfile

    if name == "-":
        return jobfile.load(sys.stdin.buffer.read(jobfile.MAX_BYTES + 1))
    if demo := jobfile.demo_of(name):
        return jobfile.parse_text(jobfile.demo(demo), f"the demo {demo}")
    return jobfile.load(name)


def _edition(edition_id: str, job_name: str = "-", place: str = "") -> Edition:
    """An edition with the local amendments that bear on a job; a demo uses none. Raises UsageError, FileError.

    place: the one whose amendments are used, besides those that hold everywhere.
    """
    from pathlib import Path

    from hearthcalc import amendments, jobfile

    files = amendments.files_for(None if job_name == "-" else Path(job_name), _own_folder())
    if jobfile.demo_of(job_name):
        files = ()
    try:
        return amendments.edition_with(edition_id, files, place)
    except EntryError as err:
        raise UsageError(err.title, err.what, where=err.where, fix=err.fix) from err


def _own_folder() -> Path:
    import platformdirs

    return platformdirs.user_config_path("hearthcalc")


def _tell(job: Job, edition: Edition, name: str, arguments: argparse.Namespace) -> int:
    from hearthcalc import assess, takeoff  # noqa: F401 - the rules are entered in the order that assess names them
    from hearthcalc.report import model, record, text

    assessment = _assessed(job, edition, name)
    if arguments.stage and arguments.stage not in assessment.stages:
        raise _no_stage(arguments.stage)
    if arguments.json:
        data = record.to_record(assessment)
        if arguments.stage:
            data["stages"] = {arguments.stage: data["stages"][arguments.stage]}
        _print_json(data)
    else:
        buy = None
        if arguments.explain:
            buy = model.Rows(takeoff.COLUMNS, takeoff.rows(takeoff.take_off(job, edition, arguments.stage)))
        report = model.build(assessment, job, explain=arguments.explain, stage=arguments.stage, buy=buy)
        _print(text.write(report, _width()), end="")
    result = assessment.stages[arguments.stage] if arguments.stage else assessment.deciding
    return exit_code(result)


def _assessed(job: Job, edition: Edition, name: str) -> Assessment:
    """What is found of a job, by rules and models. Raises FileError where an entry stands in no table."""
    from hearthcalc import assess

    _valid(job, edition, name)
    return assess.assess_models(job, edition, assess.assess(job, edition))


def _valid(job: Job, edition: Edition, name: str) -> None:
    """Raises FileError where an entry of a job stands in no table."""
    from hearthcalc import assess

    for address, why in assess.problems(job, edition).items():
        raise FileError(
            "The job file is not valid", why, where=f"{name}, {address}", fix="Nothing was judged."
        )


def exit_code(result: StageResult | Quick) -> int:
    """The exit code of a stage's verdict, or of a quick check's."""
    from hearthcalc.findings import Verdict

    return {Verdict.MEETS: 0, Verdict.SHORT: 1}.get(result.overall, 3)


def _width() -> int:
    import shutil

    return min(shutil.get_terminal_size((80, 24)).columns, 100)


def _add_takeoff(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    form = command.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="the list as JSON")
    form.add_argument("--csv", action="store_true", help="the list as CSV")
    command.add_argument(
        "--edition", metavar="ID", help="figure by this edition's values instead of the job's"
    )
    command.add_argument(
        "--stage", choices=("found", "planned"), help="this stage; planned where there is one"
    )


def _takeoff(arguments: argparse.Namespace) -> int:
    from hearthcalc import takeoff

    job = _job(arguments.job)
    edition = _edition_of(job, arguments.job, arguments)
    stages = job.stages()
    stage = arguments.stage or list(stages)[-1]
    if stage not in stages:
        raise _no_stage(stage)
    _valid(job, edition, arguments.job)
    items = takeoff.take_off(job, edition, stage)
    if arguments.json:
        record = takeoff.to_record(items, job, edition, stage)
        _print_json(record)
    elif arguments.csv:
        _print(takeoff.to_csv(items), end="")
    else:
        _print(takeoff.text(items, _width()), end="")
    return 0


def _add_steps(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    command.add_argument("--json", action="store_true", help="the steps as JSON")
    command.add_argument("--edition", metavar="ID", help="judge by this edition instead of the job's")


def _steps(arguments: argparse.Namespace) -> int:
    from hearthcalc import steps

    job = _job(arguments.job)
    edition = _edition_of(job, arguments.job, arguments)
    ordered = steps.order(job, _assessed(job, edition, arguments.job), edition)
    if arguments.json:
        _print_json(steps.to_record(ordered, job, edition))
    else:
        _print(steps.text(ordered, _width()), end="")
    return 0


def _no_stage(stage: str) -> UsageError:
    return UsageError(
        "No such stage", f"The job has no {stage} stage.", fix="Add a [planned] table, or ask for found."
    )


def _add_output(command: argparse.ArgumentParser, endings: Sequence[str]) -> None:
    command.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        required=True,
        help=f"where to write it; its ending picks the kind: {' '.join(endings)}",
    )
    command.add_argument(
        "--paper", choices=("letter", "a4"), help="letter for jobs in inches, else a4, unless given"
    )
    command.add_argument(
        "--date", metavar="DAY", help="the day that stands on it, as 2026-05-04; today unless given"
    )
    command.add_argument("--edition", metavar="ID", help="judge by this edition instead of the job's")


def _kind(output: str, endings: Sequence[str]) -> tuple[Path, str]:
    """The file to write and its ending. Raises UsageError."""
    from pathlib import Path

    path = Path(output)
    ending = path.suffix.lower()
    if ending not in endings:
        raise UsageError(
            "No such kind",
            f"A file that ends in {cut(ending, 20) or 'nothing'} is not written here.",
            fix=f"Use one of: {' '.join(endings)}.",
        )
    return path, ending


def _day(text: str | None) -> dt.date:
    """The day asked for, else today. Raises UsageError."""
    import datetime as dt

    if text is None:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(text)
    except ValueError as err:
        raise UsageError("Not a day", f"{shown(text)} is not a day.", fix="Write it as 2026-05-04.") from err


def _written(path: Path, data: bytes, job: str = "") -> None:
    """Put a file where it belongs, whole or not at all, and say so. job: the name of the one it tells of. Raises FileError."""
    if job and files.same_file(path, type(path)(job)):
        raise FileError(
            "Cannot write the file",
            "The job itself would be lost.",
            where=str(path),
            fix="Choose another name.",
        )
    try:
        files.write(path, data)
    except OSError as err:
        raise FileError(
            "Cannot write the file",
            f"{err.strerror or 'It cannot be put there'}.",
            where=str(path),
            fix=FIXES.get(err.errno or 0, "Choose another place."),
        ) from err
    _print(f"Wrote {cut(str(path), *PATH_SHOWN)}.", file=sys.stderr)


def _paper(arguments: argparse.Namespace, job: Job) -> Any:
    return arguments.paper or ("letter" if job.units == "in" else "a4")


def _new(output: str) -> Path:
    """A file to write that a person goes on with by hand. Raises FileError where there is one already: what was entered would be lost."""
    from pathlib import Path

    path = Path(output)
    if files.there(path):
        raise FileError(
            "Nothing was written", "It is there already.", where=str(path), fix="Choose another name."
        )
    return path


def _add_report(command: argparse.ArgumentParser) -> None:
    from hearthcalc.report.writing import REPORTS

    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    _add_output(command, REPORTS)
    command.add_argument(
        "--short",
        action="store_true",
        help="the first page, what is not met and what is still to be measured",
    )
    command.add_argument(
        "--for",
        dest="audience",
        choices=("homeowner", "permit", "inspection"),
        help="what this reader needs, and no more",
    )
    command.add_argument(
        "--only", choices=("site-list", "take-off"), help="this part alone, under the cautions"
    )
    command.add_argument("--no-working", action="store_true", help="without the appendix of the working")
    _add_axes(command, "with a map of what is found while an entry runs over a range; given twice, of two")


def _add_axes(command: argparse.ArgumentParser, what: str) -> None:
    """What runs over a range, and which finding is looked at meanwhile."""
    command.add_argument("--sweep", metavar="ADDRESS=FROM:TO:STEPS", action="append", help=what)
    command.add_argument(
        "--finding", metavar="ID", default="", help="of a sweep: this finding, not the overall"
    )


def _ask_for_sweep(arguments: argparse.Namespace) -> None:
    """Raises UsageError where a finding is named and nothing is swept."""
    if arguments.finding and not arguments.sweep:
        raise UsageError("Nothing to sweep", "--finding belongs to --sweep.", fix="Give --sweep too.")


def _swept(job: Job, edition: Edition, arguments: argparse.Namespace, *, models: bool = True) -> Sweep:
    """The sweep that was asked for."""
    from hearthcalc.whatif import sweep

    if len(arguments.sweep) > 2:
        raise UsageError("Too many sweeps", "One or two entries are swept.", fix="Leave the others out.")
    axes = [sweep.axis(text, job) for text in arguments.sweep]
    return sweep.sweep(job, edition, axes, arguments.finding, _meanwhile, models=models)


def _report(arguments: argparse.Namespace) -> int:
    from hearthcalc.report import contents, photos, writing

    _ask_for_sweep(arguments)
    path, ending = _kind(arguments.output, writing.REPORTS)
    day = _day(arguments.date)
    job = _job(arguments.job)
    edition = _edition_of(job, arguments.job, arguments)
    assessment = _assessed(job, edition, arguments.job)
    choice = contents.Choice(
        arguments.audience or "all",
        short=arguments.short,
        working=not arguments.no_working,
        only=arguments.only or "",
    )
    swept = _swept(job, edition, arguments) if arguments.sweep else None
    given = contents.gather(job, edition, assessment, choice, _folder_of(arguments.job), swept)
    for line in photos.told(given.pictures):
        _print(line, file=sys.stderr)
    report = contents.compose(assessment, job, edition, day, choice, given)
    if ending in (".pdf", ".xlsx"):
        _print("Writing the report ...", file=sys.stderr)
    _written(
        path,
        writing.write(report, ending, _paper(arguments, job), job.about.measured_by or ""),
        arguments.job,
    )
    return exit_code(assessment.deciding)


def _folder_of(name: str) -> Path | None:
    """The folder of a job file, None for a demo and for standard input."""
    from pathlib import Path

    from hearthcalc import jobfile

    return None if name == "-" or jobfile.demo_of(name) else Path(name).parent


SHEETS = (".pdf", ".html", ".txt")


def _add_sheet(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "job",
        metavar="JOB",
        nargs="?",
        help=f"{JOB_HELP}; a new job unless given",
    )
    _add_output(command, SHEETS)


def _sheet(arguments: argparse.Namespace) -> int:
    from hearthcalc import job as record
    from hearthcalc.report import html, measuring, pdf, text

    path, ending = _kind(arguments.output, SHEETS)
    day, name = _day(arguments.date), arguments.job or "-"
    job = _job(arguments.job) if arguments.job else record.Job.from_document(record.blank())
    report = measuring.compose(_assessed(job, _edition_of(job, name, arguments), name), job, day)
    if ending == ".pdf":
        _written(path, pdf.write(report, _paper(arguments, job), job.about.measured_by or ""), name)
    else:
        _written(path, (html.write(report) if ending == ".html" else text.write(report)).encode(), name)
    return 0


DRAWINGS = (".pdf", ".svg", ".dxf", ".txt")


def _add_drawing(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    _add_output(command, DRAWINGS)


def _drawing(arguments: argparse.Namespace) -> int:
    from hearthcalc.report import dxf, sheets, stamp

    path, ending = _kind(arguments.output, DRAWINGS)
    day, name = _day(arguments.date), arguments.job
    job = _job(name)
    if not job.face:
        raise UsageError("Nothing to draw", "The job has no face.", fix="Enter one face at least.")
    assessment = _assessed(job, _edition_of(job, name, arguments), name)
    mark = stamp.of(job, assessment, day)
    title = f"Drawings: {assessment.title or 'a fireplace'}"
    if ending == ".dxf":
        _written(path, dxf.write(assessment, job, mark), name)
        return 0
    laid = sheets.lay_out(assessment, job, mark, _paper(arguments, job))
    if ending == ".pdf":
        _written(path, sheets.pdf(laid, mark, title, job.about.measured_by or ""), name)
    else:
        _written(
            path, (sheets.svg(laid, mark, title) if ending == ".svg" else sheets.text(laid)).encode(), name
        )
    return 0


def _add_verify(command: argparse.ArgumentParser) -> None:
    command.add_argument("report", metavar="REPORT", help="a report as hearthcalc report wrote it")
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    command.add_argument("--edition", metavar="ID", help="judge by this edition instead of the job's")


def _verify(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from hearthcalc.job import signing
    from hearthcalc.report import photos, stamp

    then = stamp.read(Path(arguments.report))
    job = _job(arguments.job)
    edition = _edition_of(job, arguments.job, arguments)
    pictures = photos.digest(photos.load(job, _folder_of(arguments.job)))
    now = stamp.of(job, _assessed(job, edition, arguments.job), then.date, pictures)
    changed = list(stamp.changes(then, now))
    for line in changed or stamp.same(then):
        _print(line)
    for line in signing.voided(job, edition.fingerprint):
        _print(line)
    return 1 if changed else 0


def _add_sign(command: argparse.ArgumentParser) -> None:
    from hearthcalc.tables import Signing

    command.add_argument("job", metavar="JOB", help="a job file; the sign-off is written into it")
    command.add_argument("--name", metavar="NAME", required=True, help="who signs, by full name")
    command.add_argument(
        "--role",
        choices=get_args(Signing),
        required=True,
        help="held the tape, or went over the measurements and answers",
    )
    command.add_argument("--trade", metavar="TEXT", default="", help="mason, chimney sweep, home inspector")
    command.add_argument(
        "--license", metavar="TEXT", default="", help="license or certificate, and who gave it"
    )
    command.add_argument(
        "--date", metavar="DAY", help="the day of signing, as 2026-05-04; today unless given"
    )


def _sign(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from hearthcalc import jobfile
    from hearthcalc.job import signing

    name = arguments.job
    if name == "-" or jobfile.demo_of(name):
        raise UsageError("Nothing to sign", "Only a job file can be signed.", fix="Give the file of the job.")
    text = jobfile.text_of(name, name)
    day, job = _day(arguments.date), jobfile.parse_text(text, name)
    edition = _edition(job.about.edition, name, job.about.amendments or "")
    assessment = _assessed(job, edition, name)
    signed = signing.sign(
        jobfile.document(text, name), name=arguments.name, role=arguments.role, values=assessment.edition_fingerprint,
        date=day, trade=arguments.trade, license=arguments.license,
    )  # fmt: skip
    if jobfile.text_of(name, name) != text:
        raise FileError(
            "Not signed",
            "The job has changed since it was read.",
            where=name,
            fix="Look at it, and sign again.",
        )
    _written(Path(name), jobfile.render(signed, text).encode())
    signer = cut(arguments.name, 80)
    _print(f"Signed: {signing.ROLES[arguments.role].lower()} {signer}, {day}. A change of the job voids it.")
    if (before := signing.before(job, arguments.name)) and signing.is_signed(before):
        _print(f"It takes the place of what was signed on {before.date or 'an unknown day'}.")
    _print(signing.ATTESTS)
    return 0


def _add_batch(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "table",
        metavar="TABLE",
        nargs="?",
        help="a .csv file, or .parquet where pyarrow is installed; a fireplace a row",
    )
    command.add_argument(
        "-o",
        "--output",
        metavar="OUT",
        help="where the answers go: .csv, or .parquet where pyarrow is installed",
    )
    command.add_argument(
        "--template",
        action="store_true",
        help="print an empty table with what goes into each column, instead",
    )
    command.add_argument(
        "--unit", choices=("in", "mm"), default="in", help="the unit of the template's lengths"
    )
    command.add_argument(
        "--resume", action="store_true", help="go on where a run that was stopped had come to"
    )
    command.add_argument("--edition", metavar="ID", help="judge every row by this edition instead of its own")
    command.add_argument(
        "--rules-only",
        action="store_true",
        help="without the models of draft, heat and steel, which take most of the time",
    )
    command.add_argument(
        "--figures",
        action="store_true",
        help="by the rules, verdicts and figures without words: a hundred times faster",
    )
    command.add_argument(
        "--workers", metavar="N", type=int, help="processes; one for each processor unless given"
    )


def _batch(arguments: argparse.Namespace) -> int:
    from pathlib import Path

    from hearthcalc import amendments, batch

    if arguments.template:
        _template(arguments)
        return 0
    if not arguments.table or not arguments.output:
        raise UsageError(
            "Wrong use of the command",
            "A table and a place for the answers are needed.",
            fix="See hearthcalc batch --help.",
        )
    if arguments.workers is not None and arguments.workers < 1:
        raise UsageError(
            "Wrong use of the command", "Less than one process does nothing.", fix="Use --workers 1 or more."
        )
    path, (out, _) = Path(arguments.table), _kind(arguments.output, batch.KINDS)
    _edition(arguments.edition or "irc-2021", arguments.table)
    task = batch.Task(
        path,
        out,
        arguments.edition or "",
        tuple(map(str, amendments.files_for(path, _own_folder()))),
        models=not arguments.rules_only,
        words=not arguments.figures,
    )
    terminal = sys.stderr.isatty()

    def tell(progress: batch.Progress) -> None:
        print(
            f"\r{progress}\033[K" if terminal else progress,
            end="" if terminal else "\n",
            file=sys.stderr,
            flush=True,
        )

    try:
        with _ended_in_order():
            done = batch.run(task, tell, resume=arguments.resume, workers=arguments.workers)
    except (KeyboardInterrupt, SystemExit):
        with suppress(OSError):  # the terminal may have gone
            kept = (
                "What is judged is kept: go on with --resume."
                if batch.is_begun(task)
                else "Nothing was judged yet."
            )
            _print(f"\nStopped. {kept}", file=sys.stderr, flush=True)
        raise
    _print("\n" * terminal + batch.told(done), file=sys.stderr)
    _print(
        f"Wrote {cut(str(out), *PATH_SHOWN)} and {cut(str(batch.summary_of(out)), *PATH_SHOWN)}.",
        file=sys.stderr,
    )
    return 0


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """Asked to end from outside, work is broken off as by Ctrl+C, and what has to be put away is."""
    if threading.current_thread() is not threading.main_thread():  # where no signal arrives
        yield
        return

    def end(number: int, frame: object) -> NoReturn:
        raise SystemExit(128 + number)

    every = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    numbers = [number for number in every if signal.getsignal(number) is signal.SIG_DFL]  # not under nohup
    for number in numbers:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number in numbers:
            signal.signal(number, signal.SIG_DFL)


def _template(arguments: argparse.Namespace) -> None:
    from hearthcalc import table

    text = table.template(arguments.unit)
    if arguments.output:
        _kind(arguments.output, (".csv",))
        _written(_new(arguments.output), text.encode())
    else:
        _print(text, end="")


def _add_whatif(command: argparse.ArgumentParser) -> None:
    command.add_argument("job", metavar="JOB", help=JOB_HELP)
    form = command.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="as JSON")
    form.add_argument("--csv", action="store_true", help="as CSV")
    form.add_argument("--svg", action="store_true", help="of --sweep: as a picture")
    command.add_argument("--edition", metavar="ID", help="judge by this edition instead of the job's")
    command.add_argument(
        "--rules-only", action="store_true", help="without the models of draft, heat and steel"
    )
    _add_axes(command, "instead: what is found while an entry runs over a range; given twice, a map of two")
    command.add_argument(
        "--sure",
        action="store_true",
        help="instead: how often each finding holds, as far as the tape, the weather and the models' constants may be off",
    )
    command.add_argument(
        "--draws", metavar="N", type=int, help="of --sure: how many draws, 10000 unless given, 100000 at most"
    )
    command.add_argument(
        "--seed", metavar="N", type=int, help="of --sure: what the draws begin with, 1 unless given"
    )
    command.add_argument(
        "--workers",
        metavar="N",
        type=int,
        help="of --sure: processes that share the draws, one for each processor unless given",
    )


def _whatif(arguments: argparse.Namespace) -> int:
    from hearthcalc.whatif import smallest

    _ask_for_sweep(arguments)
    if arguments.sweep and arguments.sure:
        raise UsageError(
            "Two questions", "--sweep and --sure ask different things.", fix="Give one of the two."
        )
    alone = [name for name in ("draws", "seed", "workers") if getattr(arguments, name) is not None]
    if alone and not arguments.sure:
        raise UsageError("Nothing to draw", f"--{alone[0]} belongs to --sure.", fix="Give --sure too.")
    job = _job(arguments.job)
    edition = _edition_of(job, arguments.job, arguments)
    _valid(job, edition, arguments.job)
    if arguments.sweep:
        _sweep(job, edition, arguments)
        return 0
    if arguments.svg:
        raise UsageError("Nothing to draw", "Only a sweep has a picture.", fix="Give --sweep too.")
    if arguments.sure:
        _sure(job, edition, arguments)
        return 0
    found = smallest.smallest(job, edition, _meanwhile, models=not arguments.rules_only)
    if arguments.json:
        _print_json(smallest.to_record(found, job, edition))
    else:
        _print(smallest.to_csv(found) if arguments.csv else smallest.text(found, _width()), end="")
    return 0


def _sweep(job: Job, edition: Edition, arguments: argparse.Namespace) -> None:
    from hearthcalc.whatif import sweep

    swept = _swept(job, edition, arguments, models=not arguments.rules_only)
    if arguments.svg:
        from hearthcalc.whatif import picture

        _print(picture.svg(swept), end="")
    elif arguments.json:
        _print_json(sweep.to_record(swept, job, edition))
    else:
        _print(sweep.to_csv(swept) if arguments.csv else sweep.text(swept), end="")


def _sure(job: Job, edition: Edition, arguments: argparse.Namespace) -> None:
    from hearthcalc.whatif import sure

    draws = sure.DRAWS if arguments.draws is None else arguments.draws
    if draws < 1:
        raise UsageError("Nothing to draw", "Less than one draw says nothing.", fix="Use --draws 1 or more.")
    if draws > sure.MOST_DRAWS:
        raise UsageError(
            "Too many draws",
            f"{str(draws)[:20]} draws are more than the {sure.MOST_DRAWS:,} that are made here.",
            fix="Take fewer: 10,000 settle a share to half a percent.",
        )
    if arguments.workers is not None and arguments.workers < 1:
        raise UsageError(
            "Nobody to draw", "Less than one worker does nothing.", fix="Use --workers 1 or more."
        )
    with _ended_in_order():
        answer = sure.how_sure(
            job,
            edition,
            draws,
            1 if arguments.seed is None else arguments.seed,
            _meanwhile,
            models=not arguments.rules_only,
            workers=arguments.workers,
        )
    if arguments.json:
        _print_json(sure.to_record(answer, job, edition))
    elif arguments.csv:
        _print(sure.to_csv(answer), end="")
    else:
        tolerance = edition[f"tolerance.length.{job.units}"].shown
        _print(sure.text(answer, _width(), tolerance), end="")


def _meanwhile(text: str) -> None:
    """What is being worked on, on a line of its own on standard error that the next one takes the place of."""
    if sys.stderr.isatty():
        print(f"\r{visible(text)[:78]}\033[K", end="", file=sys.stderr, flush=True)


def _add_length(command: argparse.ArgumentParser) -> None:
    command.add_argument("text", metavar="TEXT", nargs="+", help="a length as you would type it")
    command.add_argument("--unit", choices=("in", "mm"), default="in", help="the unit of a bare number")


def _length(arguments: argparse.Namespace) -> int:
    from hearthcalc import lengths

    _print(lengths.echo(" ".join(arguments.text), arguments.unit))
    return 0


def _add_reference(command: argparse.ArgumentParser) -> None:
    actions = command.add_subparsers(title="actions", metavar="ACTION", required=True, parser_class=_Parser)
    for name, help_text, run in (
        ("list", "every edition, or every value of one", _reference_list),
        ("show", "one value, with its source, in one edition", _reference_show),
        ("compare", "what two editions differ in", _reference_compare),
        ("check", "whether the reference files are sound", _reference_check),
        ("coverage", "every clause of an edition: what judges it, or why nothing does", _reference_coverage),
    ):
        action = actions.add_parser(name, help=help_text, description=help_text)
        if name == "show":
            action.add_argument("key", metavar="KEY")
        if name == "compare":
            action.add_argument("first", metavar="ID")
            action.add_argument("second", metavar="ID")
        if name in ("list", "show", "coverage"):
            action.add_argument(
                "--edition",
                metavar="ID",
                help="the edition" + ("" if name == "list" else ", irc-2021 unless given"),
            )
        if name in ("list", "show", "compare"):
            action.add_argument("--place", metavar="NAME", help="with your amendments of that town or county")
        if name == "coverage":
            action.add_argument("--json", action="store_true", help="the clauses as JSON")
        action.set_defaults(run=run)


def _edition_in(arguments: argparse.Namespace, edition_id: str) -> Edition:
    """An edition with your own amendments, those of the place asked for among them. UsageError where it has none."""
    from hearthcalc import amendments

    place = arguments.place or ""
    edition = _edition(edition_id, place=place)
    if place and not edition.amended_for:
        kept = amendments.places(amendments.read(_own_folder() / amendments.NAME), edition_id)
        fix = (
            f"There are those of: {', '.join(kept)}."
            if kept
            else "See reference/README.md on how to make one."
        )
        raise UsageError(
            "No such amendments", f"No amendments of {shown(place)} to {edition_id} are kept here.", fix=fix
        )
    return edition


def _reference_list(arguments: argparse.Namespace) -> int:
    from hearthcalc import assess, reference

    if arguments.edition is None:
        for edition in reference.editions():
            answered, asked = assess.answers(edition)
            _print(
                f"{edition.id:<14} {edition.title}\n{'':<14} {edition.applies}\n{'':<14} answers {answered} of {asked} questions"
            )
        return 0
    edition = _edition_in(arguments, arguments.edition)
    for key, value in sorted(edition.values.items()):
        _print(f"{key:<36} {value.shown}  [{value.source}, {value.clause}; {value.standing}]")
    for key in reference.silent_on(edition):
        _print(f"{key:<36} silent")
    return 0


def _reference_show(arguments: argparse.Namespace) -> int:
    from difflib import get_close_matches

    from hearthcalc import reference

    edition = _edition_in(arguments, arguments.edition or "irc-2021")
    value = edition.get(arguments.key)
    if value is None:
        if arguments.key in reference.silent_on(edition):
            _print(f"{arguments.key}: {edition.title} is silent on it.")
            return 0
        near = get_close_matches(arguments.key, edition.values, n=1)
        fix = f"Did you mean {near[0]}?" if near else "See hearthcalc reference list --edition ID."
        raise UsageError(
            "No such value", f"There is no value {shown(arguments.key)} in {edition.id}.", fix=fix
        )
    rows = {
        "key": value.key,
        "title": value.title,
        "value": value.shown,
        "method": value.method,
        "table": value.table,
        "source": f"{value.source}: {edition.sources[value.source]}",
        "clause": value.clause,
        "standing": value.standing,
        "stated in": f"{value.edition} ({value.place})",
        "note": value.note,
        "hard range": " to ".join(q.text for q in value.hard or ()),
        "usual range": " to ".join(q.text for q in value.usual or ()),
    }
    for name, text in rows.items():
        if text:
            _print(f"{name:<12} {text}")
    return 0


def _reference_compare(arguments: argparse.Namespace) -> int:
    first, second = (_edition_in(arguments, id) for id in (arguments.first, arguments.second))
    for key in sorted(first.values.keys() | second.values.keys()):
        shown = [_value_of(edition, key) for edition in (first, second)]
        if shown[0] != shown[1]:
            _print(f"{key}\n  {first.id:<14} {shown[0]}\n  {second.id:<14} {shown[1]}")
    return 0


def _value_of(edition: Edition, key: str) -> str:
    value = edition.get(key)
    return "silent" if value is None else f"{value.shown}  [{value.source}, {value.clause}; {value.standing}]"


def _reference_coverage(arguments: argparse.Namespace) -> int:
    from hearthcalc import coverage

    edition = _edition(arguments.edition or "irc-2021")
    listed = coverage.load(edition)
    if arguments.json:
        _print_json(coverage.to_record(listed, edition))
        return 0
    _print(f"{edition.title} ({edition.id})")
    if listed is None:
        _print(coverage.UNLISTED)
        return 0
    _print(listed.told)
    _print(f"{len(listed.clauses)} clauses: {', '.join(f'{n} {how}' for how, n in listed.counts.items())}.\n")
    for clause in listed.clauses:
        _print(f"{clause.clause}: {clause.asks}.  [{clause.standing}]")
        _print(f"    {clause.how}{': ' if clause.by else ''}{', '.join(clause.by)}")
        if clause.why:
            _print(f"    {clause.why}")
    return 0


def _reference_check(arguments: argparse.Namespace) -> int:
    from hearthcalc import amendments, coverage, reference
    from hearthcalc.models import heat

    for edition in reference.editions():
        coverage.load(edition)
        heat.materials(edition)
        for value in edition.values.values():
            if value.table:
                reference.read_table(edition.folder, value.table)
        for shape in ("round", "rectangular"):
            edition.liners(shape)
        _print(
            f"{edition.id:<14} {len(edition.values)} values, no value for {len(reference.silent_on(edition))} others: sound"
        )
    own = _own_folder() / amendments.NAME
    changes = amendments.read(own)
    try:
        amendments.check(changes)
    except EntryError as err:
        raise FileError(err.title, err.what, where=f"{own}, {err.where}", fix=err.fix) from err
    named = sorted({place for change in changes for place in amendments.places([change], change.edition)})
    places = f", some for {', '.join(map(cut, named[:MOST_PLACES]))} alone" if named else ""
    _print(f"{'amendments':<14} {len(changes)} in {own}: sound{places}")
    if own_materials := amendments.read_materials(own):
        _print(f"{'materials':<14} {len(own_materials)} in {own.with_name(amendments.MATERIALS)}: sound")
    return 0


def _add_quick(command: argparse.ArgumentParser) -> None:
    from hearthcalc.quick import ASKS

    for ask in ASKS:
        command.add_argument(ask.flag, metavar="TEXT", help=f"{ask.label}. {ask.how}".replace("%", "%%"))
    command.add_argument(
        "--units", choices=("in", "mm"), help="of bare numbers; those of the edition unless given"
    )
    command.add_argument("--edition", metavar="ID", help="judge by this edition; irc-2021 unless given")
    command.add_argument("--json", action="store_true", help="the answer as JSON")
    command.add_argument("-o", "--output", metavar="JOB", help="also keep it as a job file, to go on with")


def _quick(arguments: argparse.Namespace) -> int:
    from hearthcalc import quick, reference
    from hearthcalc.report import record

    edition = _edition(arguments.edition or reference.DEFAULT_EDITION)
    unit: Unit = arguments.units or edition.units
    given = {ask.id: text for ask in quick.ASKS if (text := getattr(arguments, ask.id)) is not None}
    for id, text in given.items():
        try:
            quick.entries(id, text, unit, edition)
        except EntryError as err:
            raise UsageError(err.title, f"{quick.BY_ID[id].flag}: {err.what}", fix=err.fix) from err
    path = _new(arguments.output) if arguments.output else None
    told = quick.check(given or _prompted(unit, edition), unit, edition)
    if arguments.json:
        _print_json(record.quick_record(told, edition))
    else:
        _print("\n".join(record.quick_lines(told, edition, _width())))
    if path:
        from hearthcalc import jobfile

        _written(path, jobfile.render(told.document).encode())
    return exit_code(told)


def _prompted(unit: Unit, edition: Edition) -> dict[str, str]:
    """The answers that a person types, asked one by one on standard error; the end of the input leaves the rest not measured."""
    from hearthcalc import caution, quick

    _print(caution.LINE, file=sys.stderr)
    answers: dict[str, str] = {}
    for number, ask in enumerate(quick.ASKS, 1):
        if ask.id == "wood_out" and not quick.entries("wood_above", answers["wood_above"], unit, edition):
            continue
        measure = "" if ask.id == "flue" else f", {unit}"
        _print(f"{number}/{len(quick.ASKS)} {ask.label}{measure}. {ask.how}", file=sys.stderr)
        while True:
            _print(f"  [{ask.default}] ", end="", file=sys.stderr, flush=True)
            line = sys.stdin.readline()
            if not line:
                return answers
            try:
                quick.entries(ask.id, line, unit, edition)
            except EntryError as err:
                _print(f"  {err.what} {err.fix}", file=sys.stderr)
                continue
            answers[ask.id] = line.strip()
            break
    return answers


def _no_arguments(command: argparse.ArgumentParser) -> None:
    pass


def _schema(arguments: argparse.Namespace) -> int:
    from hearthcalc.job import job_schema

    _print_json(job_schema())
    return 0


def _paths(arguments: argparse.Namespace) -> int:
    import platformdirs

    from hearthcalc import amendments, reference

    rows = {
        "reference values": reference.shipped(),
        "your settings": _own_folder(),
        "your amendments": _own_folder() / amendments.NAME,
        "drafts": platformdirs.user_state_path("hearthcalc"),
        "backups": platformdirs.user_state_path("hearthcalc") / "backups",
        "faults": platformdirs.user_state_path("hearthcalc") / "faults.log",
    }
    for name, path in rows.items():
        _print(f"{name:<18} {path}")
    return 0


def _selftest(arguments: argparse.Namespace) -> int:
    from hearthcalc import selftest

    outcomes = [selftest.run(case) for case in selftest.cases()]
    for outcome in outcomes:
        _print(
            f"{'agrees' if outcome.agrees else 'DIFFERS'}  {outcome.case.name}: {outcome.found}  [{outcome.case.source}]"
        )
    passed = sum(outcome.agrees for outcome in outcomes)
    _print(f"{passed} of {len(outcomes)} published cases agree")
    return 0 if passed == len(outcomes) else 1


def _add_validation(command: argparse.ArgumentParser) -> None:
    command.add_argument("--json", action="store_true", help="the table as JSON")
    command.add_argument("--edition", metavar="ID", help="with this edition's values, irc-2021 unless given")


def _validation(arguments: argparse.Namespace) -> int:
    from hearthcalc import validation

    held = validation.hold_all(_edition(arguments.edition or "irc-2021"))
    if arguments.json:
        record = {"format": "hearthcalc-validation", "version": 1, "rows": validation.to_record(held)}
        _print_json(record)
    else:
        from textwrap import fill

        _print(fill(validation.LEVEL, 80))
        for one in held:
            row = one.row
            told = [f"published {row.published}; model {one.shown}; {one.off}"]
            told += [f"Why: {row.miss or 'not known'}"] if one.outcome != "within" else []
            told.append(f"{row.source}, {row.clause}; {row.standing}. {row.scatter}.")
            _print(f"\n{one.outcome.upper():<12}{row.name}")
            _print(
                "\n".join(
                    fill(line, 80, initial_indent=" " * 12, subsequent_indent=" " * 12) for line in told
                )
            )
        _print(f"\n{validation.summary(held)}")
    return 0 if validation.settled(held) else 1


COMMANDS: dict[
    str, tuple[str, Callable[[argparse.ArgumentParser], None], Callable[[argparse.Namespace], int]]
] = {
    "check": ("findings of a job as plain text or JSON", _add_check, _check),
    "demo": ("the same for a demo, an invented house: inn, schoolhouse, stonehouse", _add_demo, _check),
    "quick": ("a quick look: eight measurements at most, by flags or asked one by one", _add_quick, _quick),
    "takeoff": ("what to buy, with its working", _add_takeoff, _takeoff),
    "steps": ("the order of work, its stop points, and what holds each step up", _add_steps, _steps),
    "report": ("the findings on paper: text, Markdown, HTML, PDF or a spreadsheet", _add_report, _report),
    "sheet": (
        "the measuring sheet: what is still to be measured, with room to write it in",
        _add_sheet,
        _sheet,
    ),
    "drawing": ("drawing sheets to scale, for a permit", _add_drawing, _drawing),
    "sign": ("put a name to a job: who measured, who checked", _add_sign, _sign),
    "verify": ("whether a report has the fingerprints of a job as it stands", _add_verify, _verify),
    "whatif": ("the smallest change that cures what falls short", _add_whatif, _whatif),
    "batch": ("the findings of many fireplaces, a row of a table each", _add_batch, _batch),
    "length": ("what is read in a length, exactly", _add_length, _length),
    "reference": ("the values, their sources, and whether the files are sound", _add_reference, lambda a: 0),
    "schema": ("the job file's JSON Schema", _no_arguments, _schema),
    "paths": ("where files lie", _no_arguments, _paths),
    "validation": (
        "the models held against what was published, with what they are known to miss",
        _add_validation,
        _validation,
    ),
    "selftest": ("runs the published cases on this installed copy", _no_arguments, _selftest),
}
