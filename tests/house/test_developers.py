"""DEVELOPERS.md names only what there is: every file, folder, module and name in it is found in the tree."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from tests.house.test_tree import ROOT, TEXT_ENDINGS, tracked_files

PAGE = ROOT / "DEVELOPERS.md"
# What the page names although the tree does not hold it: files of a course, names of other programs, what is written as an example.
MADE_LATER = re.compile(
    r"my_record\.json|drawn/LEARNER/SHEET\.json|marks/SHEET(?:/LEARNER)?\.json|withdrawn/SHEET|decisions\.jsonl"
    r"|course\.toml|\.secret_check|nbgrader_config\.py|lessons/NN_topic|tests/lesson/pinned/NN\.toml|\./verdicts\.js|sympy\.solve|simplify\(a - b\) == 0"
)


@cache
def words_of_the_tree() -> frozenset[str]:
    texts = [path for path in tracked_files() if path.suffix in TEXT_ENDINGS and path not in (PAGE, Path(__file__).resolve())]
    return frozenset(word for path in texts for word in re.findall(r"\w+", path.read_text(encoding="utf-8", errors="replace")))


@cache
def paths_of_the_tree() -> frozenset[str]:
    """Every file and folder by each end of its path, with its ending and without."""
    ends = set()
    for path in tracked_files():
        parts = path.relative_to(ROOT).parts
        for last in range(1, len(parts) + 1):
            for first in range(last):
                end = "/".join(parts[first:last])
                ends |= {end, end.rpartition(".")[0] or end}
    return frozenset(ends)


def not_there(page: str) -> list[str]:
    """Of what stands in code marks, what is neither a path nor made of words that the tree knows."""
    missing = []
    for said in re.findall(r"`([^`\n]+)`", page):
        path = said.rstrip("/").removeprefix("./")
        if MADE_LATER.fullmatch(said) or path in paths_of_the_tree():
            continue
        if "..." in path and any(re.fullmatch(re.escape(path).replace(r"\.\.\.", ".*"), end) for end in paths_of_the_tree()):
            continue
        if (re.search(r"\.(?:py|js|md|toml)$", said) and " " not in said) or [
            word for word in re.findall(r"[A-Za-z_]\w*", said) if word not in words_of_the_tree()
        ]:
            missing.append(said)
    return missing


def test_everything_that_the_page_names_is_there() -> None:
    assert not_there(PAGE.read_text(encoding="utf-8")) == []
    made_up = "`solve/mobility.py`, `solve/immobility.py`, `Verdict`, `Verdickt`, `gearkit/draw`, `graders mark --json`"
    assert not_there(made_up) == ["solve/immobility.py", "Verdickt"]
