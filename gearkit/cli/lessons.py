"""The commands lessons, site, print and class: the learner's own copies in JupyterLab, pages that need no server, and paper."""

from __future__ import annotations

import argparse
import importlib
import shlex
from collections.abc import Callable, Mapping
from functools import wraps
from pathlib import Path

from gearkit.cli.command import DONE, FINDING, Command, add_layout, parser_of
from gearkit.lesson import lesson_copies
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from gearkit.words.say import ENGLISH, languages, speaking_language


def _lessons(options: argparse.Namespace) -> int:
    if options.no_browser:
        handed = lesson_copies.fill(options.to, language=options.language)
        print(handed.words())
        print("To open them:  " + shlex.join(lesson_copies.lab_command(handed.folder)))
        return DONE
    return DONE if lesson_copies.open_lab(options.to, _tell, options.language) == 0 else FINDING


def _tell(handed: lesson_copies.HandedOver) -> None:
    print(handed.words())
    print("JupyterLab opens in your browser; close it there, or press Ctrl-C twice here.", flush=True)


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--to",
        type=Path,
        metavar="DIR",
        help=f"your own folder for the lessons (default: {lesson_copies.DEFAULT_FOLDER} in your home)",
    )
    parser.add_argument(
        "--language",
        choices=languages(),
        default="",
        help="the language of the lessons, remembered (default: the one chosen before)",
    )
    parser.add_argument("--no-browser", action="store_true", help="only put the lessons there and say how to open them")


def _in_its_language(run: Callable[[argparse.Namespace], int]) -> Callable[[argparse.Namespace], int]:
    """A command whose pages come out in the language of its option; what it tells whoever runs it stays English."""

    @wraps(run)
    def speaks(options: argparse.Namespace) -> int:
        with speaking_language(options.language):
            return run(options)

    return speaks


def _add_language(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--language",
        choices=languages(),
        default=ENGLISH,
        help=f"in which the pages come out; what is not translated yet stays English (default: {ENGLISH})",
    )


def _about(output: Path) -> int:
    from gearkit.cli import main
    from gearkit.site.about import about_site
    from gearkit.site.course_site import write

    programs = []
    # Both programs come in one package; nothing here needs the other, which is only asked what it can do.
    for name, module in (("gearkit", main), ("graders", importlib.import_module("graders.cli.main"))):
        commands = module.commands()
        programs.append((parser_of(name, module.ABOUT, commands), [command.example for command in commands]))
    site = about_site.build(programs)
    write(site, output)
    print(
        f"{output}: {_size(site.files)}. Open {output / 'index.html'} by a double click, or put the folder on any web server."
    )
    return DONE


@_in_its_language
def _site(options: argparse.Namespace) -> int:
    if options.about:
        return _about(options.output)
    from gearkit.site import course_site, sheet_pages, single_page
    from gearkit.site.own_code import jupyterlite

    if options.single is not None:
        size = single_page.write(options.single, options.output)
        print(f"{options.output}: {size / 1000:.0f} kB. Open it by a double click; it needs nothing else.")
        return DONE
    listed = options.output.with_name(f"{options.output.name}_sheets.csv")
    addresses = sheet_pages.Addresses(listed.read_text(encoding="utf-8") if listed.is_file() else "")
    copies = {addresses.of(copy): copy for copy in sheet_pages.copies_in(options.sheets)} if options.sheets else {}
    print("Running every lesson once …", flush=True)
    site = course_site.build(options.python, options.units, copies, own_code=options.own_code)
    course_site.write(site, options.output)
    if copies:
        write_atomically(listed, addresses.text, mode=0o600)
    print(f"{options.output}: {_size(site.files)}.")
    if not site.lacks:
        print(told_of(site.files.get(course_site.IMAGE)))
    if options.own_code:
        notebooks = {name: content for name, content in site.files.items() if name.startswith(f"{jupyterlite.FOLDER}/")}
        print(f"Of these for notebooks: {_size(notebooks)}.")
    if copies:
        print(
            f"{len(copies)} copies of sheets; which page is whose stands in {listed}: send each learner their own address only."
        )
    if site.lacks:
        print(f"Without Python: exercises and tasks will not work there, panels and predictions will. {site.lacks}")
    print("Put the folder on any web server, or try it here:  " + shlex.join([*_SERVE, str(options.output)]))
    return DONE


def told_of(image: bytes | None) -> str:
    """Return what is said of a site's memory image.

    Args:
        image: its content; None where there is none.
    """
    if image is None:
        return "Without a memory image, which Node.js makes where it is installed: Python takes longer to start on the pages."
    return f"Of these the memory image, with which Python starts sooner: {len(image) / 1e6:.1f} MB."


def _size(files: Mapping[str, bytes]) -> str:
    return f"{len(files)} files, {sum(map(len, files.values())) / 1e6:.1f} MB"


@_in_its_language
def _print(options: argparse.Namespace) -> int:
    from gearkit.print import engine, web_page
    from gearkit.print.document import PaperSize
    from gearkit.site.handout import handout, notebook

    path = notebook(options.lesson)
    ending = ".html" if options.html else ".pdf"
    output = options.output or Path(f"{path.stem}{ending}")
    if options.output and output.suffix.lower() not in (".html", ".pdf"):
        raise UsageError(f"{output}: give a name that ends in .pdf, or in .html for a page.")
    if options.html and output.suffix.lower() == ".pdf":
        raise UsageError(f"{output}: --html writes a page; give a name that ends in .html, or leave --html out.")
    size = PaperSize.named(options.paper)
    document = handout(path)
    if output.suffix.lower() == ".html":
        web_page.save(document, output)
    else:
        engine.save([document], output, size)
    print(f"{output}: {document.title}")
    return DONE


@_in_its_language
def _class(options: argparse.Namespace) -> int:
    from gearkit.site.class_page import write
    from gearkit.train import catalogue

    if options.output.suffix.lower() != ".html":
        raise UsageError(f"{options.output}: the page for the class is HTML; give a name that ends in .html.")
    layout = catalogue.find(options.layout)
    write(layout, options.output)
    print(f"{options.output}: {layout.name}, for the class; open it in a browser and press F11 for the whole screen")
    return DONE


def _class_arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    _add_language(parser)
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", required=True, help="the page, ending in .html")


def _print_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", metavar="LESSON", help="a lesson's number, such as 03, or a notebook's file")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="file to write, ending in .pdf or .html")
    parser.add_argument("--html", action="store_true", help="a page in place of a PDF")
    parser.add_argument("--paper", default="A4", help="A4 or letter (default: A4)")
    _add_language(parser)


_SERVE = ["python3", "-m", "http.server", "--bind", "127.0.0.1", "--directory"]


def _site_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--single", metavar="NN", help="only one lesson, as one file, by its number, such as 03")
    parser.add_argument(
        "--about", action="store_true", help="in place of the course: pages about gearkit, with guides and all commands"
    )
    parser.add_argument(
        "--units", type=Path, nargs="+", default=[], metavar="DIR", help="lay in units that graders unit made, one folder each"
    )
    parser.add_argument(
        "--sheets", type=Path, metavar="COURSE", help="lay in each learner's copies of the sheets that a course handed out"
    )
    _add_language(parser)
    parser.add_argument(
        "--own-code",
        action="store_true",
        help="lay in the lessons as notebooks too, for those who want to write code of their own in the browser",
    )
    parser.add_argument(
        "--python", type=Path, metavar="FILE",
        help="the package pyodide of the npm registry, where that registry cannot be reached from here",
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", type=Path, metavar="DIR", required=True, help="the folder; with --single the file, ending in .html"
    )


COMMANDS = [
    Command("lessons", "put the lessons into a folder of yours and open them", "gearkit lessons", _arguments, _lessons),
    Command(
        "site",
        "the course as pages that need no install, or one lesson as one file",
        "gearkit site --single 03 -o lesson_03.html",
        _site_arguments,
        _site,
    ),
    Command(
        "print",
        "a lesson as a handout on paper: pictures, formulas, lines for predictions and answers",
        "gearkit print 03 -o lesson_03.pdf",
        _print_arguments,
        _print,
    ),
    Command(
        "class",
        "a page for the projector: look, guess by show of hands, see, for every range of a layout",
        "gearkit class Q36 -o class.html",
        _class_arguments,
        _class,
    ),
]
