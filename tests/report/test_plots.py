"""The plots of the reports: in words as well, readable without colour, the same bytes each time, and nobody's private look."""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable

import pytest

from graders.report.pages import plots

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}href"
PLOTS: dict[str, tuple[Callable[[], str], str]] = {
    "marks": (
        lambda: plots.marks({"day": [3.0, 7.0], "evening": [5.0]}, 10, "Marks by group"),
        "day: 2 learners, from 3 to 7, middle 5; evening: 1 learner, from 5 to 5, middle 5; full marks 10.",
    ),
    "items": (
        lambda: plots.items([("L03-01", 0.5, -0.25), ("L03-02", None, None)], "Items"),
        "L03-01: facility 50%, upper less lower \u22120.25; L03-02: facility not known, upper less lower not known",
    ),
    "progress": (
        lambda: plots.progress({"day": [0.4, None, 0.6]}, ["one", "two", "three"], "Progress"),
        "day: one 40%, three 60%",
    ),
    "predictions": (
        lambda: plots.before_and_after([("Lesson 3, one set", 3, 8, 16, 20), ("Lesson 6", 1, 1, 0, 0)], "Before"),
        "Lesson 3, one set: first 3 of 8 right, later 16 of 20; Lesson 6: first 1 of 1 right, none later.",
    ),
}


def parsed(plot: str) -> ElementTree.Element:
    return ElementTree.fromstring(plot.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_says_in_words_all_that_it_shows(name: str) -> None:
    make, words = PLOTS[name]
    picture = parsed(make())
    labels = {one.get("id"): one.text or "" for one in picture if one.tag in (f"{SVG}title", f"{SVG}desc")}
    assert picture.get("role") == "img"
    told = [labels[key] for key in (picture.get("aria-labelledby") or "").split()]
    assert len(told) == 2
    assert words in told[1]


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_has_no_colour_but_the_pages_own_and_needs_nothing_from_elsewhere(name: str) -> None:
    plot = PLOTS[name][0]()
    assert re.findall(r"#[0-9a-fA-F]{6}|#[0-9a-fA-F]{3}\b|rgb\(", plot) == []
    assert set(re.findall(r"var\((--\w+)\)", plot)) <= {"--ink", "--soft", "--line", "--accent", "--paper", "--plain"}
    addresses = set(re.findall(r'https?://[^"\s]*', plot))
    assert addresses <= {"http://www.w3.org/1999/xlink"}
    assert "<image" not in plot


def test_the_ids_of_all_plots_of_a_page_differ_and_every_reference_finds_its_own() -> None:
    pictures = [parsed(make()) for make, _ in PLOTS.values()]
    pictures.append(parsed(plots.marks({"day": [3.0, 7.0], "evening": [6.0]}, 10, "Marks by group")))
    ids = [one.get("id") for picture in pictures for one in picture.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    for picture in pictures:
        own = {one.get("id") for one in picture.iter()}
        used = {(one.get(XLINK) or "").lstrip("#") for one in picture.iter() if one.get(XLINK)}
        used |= {
            found for one in picture.iter() for value in one.attrib.values() for found in re.findall(r"url\(#([^)]*)\)", value)
        }
        assert used
        assert used <= own


@pytest.mark.parametrize("name", PLOTS)
def test_the_same_figures_give_the_same_bytes_whatever_settings_matplotlib_has(name: str) -> None:
    import matplotlib as mpl

    make = PLOTS[name][0]
    first = make()
    with mpl.rc_context({"font.size": 30, "axes.grid": True, "svg.fonttype": "path", "figure.dpi": 300}):
        assert make() == first
        assert mpl.rcParams["font.size"] == 30


def test_plots_are_the_same_in_another_process() -> None:
    code = "from tests.report.test_plots import PLOTS; import sys; sys.stdout.buffer.write(PLOTS['items'][0]().encode())"
    made = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, env={"PYTHONHASHSEED": "7", "PATH": ""}
    )
    assert made.stdout.decode() == PLOTS["items"][0]()


def test_learners_with_equal_marks_are_stacked_not_hidden() -> None:
    assert plots._stacked([5.0, 5.0, 5.0, 9.0], 10) == [(5.0, 0), (5.0, 1), (5.0, 2), (9.0, 0)]


def test_groups_have_different_shapes_and_fillings_so_that_they_read_without_colour() -> None:
    picture = parsed(plots.marks({"day": [3.0], "evening": [3.0], "third": [3.0]}, 10, "Marks"))
    shapes = {one.get("id"): one.get("d") for one in picture.iter(f"{SVG}path") if one.get("id")}
    used = [
        (shapes[(one.get(XLINK) or "")[1:]], re.search(r"fill: ([^;]*)", one.get("style") or "")[1])
        for one in picture.iter(f"{SVG}use")
        if "--accent" in (one.get("style") or "")
    ]
    assert len(used) == 3
    assert len({shape for shape, _ in used}) == 3
    assert {fill for _, fill in used} == {"var(--accent)", "var(--paper)"}


@pytest.mark.parametrize("name", ["$x$", "a & <b>", "\\frac{1}{2", "ünï\u200b", "名前", "x" * 300])
def test_a_group_may_have_any_name(name: str) -> None:
    picture = parsed(plots.marks({name: [1.0, 2.0]}, 10, "Marks"))
    texts = [one.text for one in picture.iter(f"{SVG}text")]
    assert name in texts or any(text and text.endswith("\u2026") and name.startswith(text[:-1]) for text in texts)


def test_labels_at_the_ends_of_lines_keep_apart() -> None:
    ends: list[float] = []
    for value in (70.0, 70.0, 69.0, 71.0):
        ends.append(plots._free(value, ends))
    assert all(abs(one - other) >= 8 for place, one in enumerate(ends) for other in ends[:place])
