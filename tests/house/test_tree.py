"""The tree keeps its shape: a fixed top level, modules of one job, no machine paths, no forbidden words."""

from __future__ import annotations

import ast
import re
import subprocess
import symtable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "lessons", "gearkit", "graders", "tests", "datasets"}
LONGEST_MODULE = 400
TEXT_ENDINGS = {".py", ".md", ".toml", ".js", ".css", ".ipynb", ".csv", ".json", ".html", ".txt", ""}


def tracked_files() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert listed.returncode == 0, "the tree's rules are checked in a git checkout"
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_the_top_level_holds_the_agreed_names_only() -> None:
    found = {path.relative_to(ROOT).parts[0] for path in tracked_files()}
    assert {name for name in found if not name.startswith(".")} - TOP_LEVEL == set()


def test_modules_stay_short_enough_for_one_job() -> None:
    long = [
        f"{path.relative_to(ROOT)}: {count} lines"
        for package in ("gearkit", "graders")
        for path in sorted((ROOT / package).rglob("*.py"))
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    ]
    assert long == []


def test_every_file_of_tests_tests_something_and_every_fixture_and_helper_in_it_is_used() -> None:
    """A file that lost its tests passes for ever; its fixtures and helpers, which nobody asks for any more, give it away."""
    idle = []
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        defined = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
        own_class = any(isinstance(node, ast.ClassDef) and node.name.startswith("Test") for node in tree.body)
        if not own_class and not any(node.name.startswith("test_") for node in defined):
            idle.append(f"{path.relative_to(ROOT)}: no test")
        asked = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        asked |= {argument.arg for node in defined for argument in node.args.args}
        asked |= {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
        idle += [
            f"{path.relative_to(ROOT)}: {node.name}"
            for node in tree.body
            if isinstance(node, ast.FunctionDef)
            and not node.name.startswith(("test_", "pytest_"))
            and node.name not in asked
            and not _serves_by_itself(node)
        ]
    assert idle == []


def _serves_by_itself(function: ast.FunctionDef) -> bool:
    return any("autouse=True" in ast.unparse(one) for one in function.decorator_list)


def test_no_machine_path_or_registry_host_is_written_down() -> None:
    machine = re.compile(
        r"/(?:work|farm|root)/[a-z]|/tmp/(?:bash_jobs|brief)|pythonhosted"
        + r"\.org|pypi"
        + r"\.org/simple|registry"
        + r"\.npmjs"
    )
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in tracked_files()
        if path.suffix in TEXT_ENDINGS and path != Path(__file__).resolve()
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1)
        if machine.search(line)
    ]
    assert found == []


# What has no words of its own, and a net that is shown to catch: what it says is the business of the net's own test.
WITHOUT_WORDS = {"KeyboardInterrupt", "(AssertionError, UsageError)"}


def errors_taken_unread(tree: ast.AST) -> list[str]:
    """Every expected error of which a test reads neither the words nor the error itself."""
    read = {
        item.context_expr for node in ast.walk(tree) if isinstance(node, ast.With) for item in node.items if item.optional_vars
    }
    return [
        f"line {node.lineno}: {ast.unparse(node)}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and ast.unparse(node.func) == "pytest.raises"
        and node not in read
        and not any(keyword.arg == "match" for keyword in node.keywords)
        and ast.unparse(node.args[0]) not in WITHOUT_WORDS
    ]


def test_an_expected_error_is_known_by_its_words() -> None:
    taken = {
        str(path.relative_to(ROOT)): lines
        for path in sorted((ROOT / "tests").rglob("*.py"))
        if (lines := errors_taken_unread(ast.parse(path.read_text(encoding="utf-8"))))
    }
    assert taken == {}
    assert errors_taken_unread(ast.parse("with pytest.raises(KeyError):\n    a()")) == ["line 1: pytest.raises(KeyError)"]


def test_types_are_set_aside_only_where_they_are_checked_and_with_a_reason() -> None:
    """The checker of types reads the two packages and says where a comment is needless; tests it does not read."""
    mark = "type: " + "ignore"
    bare = [
        f"{path.relative_to(ROOT)}:{number}"
        for package in ("gearkit", "graders", "tests")
        for path in sorted((ROOT / package).rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if mark in line and (package == "tests" or not re.search(rf"# {mark}\[[a-z-]+\]  # \w", line))
    ]
    assert bare == []


# How many functions and comprehensions may call a value by a name that tells nothing: "one" of a pair, "one" and "many".
NAMES_THAT_TELL_NOTHING = {"found": 0, "one": 13}


def bound_names(table: symtable.SymbolTable) -> list[str]:
    """Every name bound in each scope; the fields of a class apart, since the class says what they are."""
    own = [] if table.get_type() == "class" else [each.get_name() for each in table.get_symbols() if each.is_local()]
    return own + [name for inner in table.get_children() for name in bound_names(inner)]


def test_what_has_a_name_is_called_by_it() -> None:
    """The numbers may only fall: whoever makes them fewer lowers them here."""
    telling = re.compile(rf"\b({'|'.join(NAMES_THAT_TELL_NOTHING)})\b")
    names = [
        name
        for package in ("gearkit", "graders")
        for path in (ROOT / package).rglob("*.py")
        if telling.search(text := path.read_text(encoding="utf-8"))
        for name in bound_names(symtable.symtable(text, path.name, "exec"))
    ]
    assert {name: names.count(name) for name in NAMES_THAT_TELL_NOTHING} == NAMES_THAT_TELL_NOTHING
    code = "class A:\n    one: int\ndef f(one): return [one for found in one]"
    assert sorted(set(bound_names(symtable.symtable(code, "", "exec"))) - {".0"}) == ["A", "f", "found", "one"]


# A binding of a script: declared alone or taken out of an object or a list, or kept on this.
FOUND_IN_SCRIPT = re.compile(r"\b(?:const|let|var) (?:found\b|[{\[][^=]*\bfound\b[^=]*[}\]] =)|\bthis\.found\b")


def test_scripts_call_nothing_found() -> None:
    scripts = sorted((ROOT / "gearkit").rglob("*.js"))
    assert scripts
    assert [
        (path.name, line) for path in scripts for line in path.read_text("utf-8").splitlines() if FOUND_IN_SCRIPT.search(line)
    ] == []
    told = [
        "const found = [];",
        "const { engaged, found } = each;",
        "this.found = 1;",
        'const built = this.get("found");',
        "say({ found: 1 });",
    ]
    assert [bool(FOUND_IN_SCRIPT.search(line)) for line in told] == [True, True, True, False, False]
