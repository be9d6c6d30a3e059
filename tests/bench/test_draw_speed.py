"""How fast pictures are drawn and placed, a lever diagram beside matplotlib drawing the same. Never fails on time."""

from __future__ import annotations

import io
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

import matplotlib as mpl
import pytest
from matplotlib.figure import Figure

from gearkit.draw.charts import chart, speed_plot
from gearkit.draw.core.state import state_of
from gearkit.draw.front import front_view
from gearkit.draw.lever import lever_diagram
from gearkit.draw.lever.lever_geometry import levers
from gearkit.draw.power import power_picture
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import place, read
from gearkit.draw.stick.stick_search import found_plan
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout

ROUNDS = 15
STORED = ("Q24", "Q36", "Q48", "pair_series", "pair_common_sun", "pair_two_suns", "bench_set")


def milliseconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1e3


def figures(times: list[float]) -> str:
    return f"median {statistics.median(times):.2f} ms, least {min(times):.2f}, most {max(times):.2f}"


def plotted(layout: Layout, engaged: tuple[str, ...]) -> str:
    """The same levers, speeds and names by matplotlib, as SVG: what a redrawn plot in a notebook costs."""
    state = state_of(layout, engaged)
    figure = Figure(figsize=(9, 5))
    axes = figure.add_subplot()
    for number, lever in enumerate(levers(layout)):
        left = 4.0 * number
        places = [float(place) for place in lever.nodes.values()]
        speeds = [float(state.speed(shaft) or 0) for shaft in lever.nodes]
        axes.plot([left, left], [min(places), max(places)], lw=3, color="black")
        axes.plot([left + speed for speed in speeds], places, lw=2)
        for shaft, at, speed in zip(lever.nodes, places, speeds, strict=True):
            axes.annotate("", (left + speed, at), (left, at), arrowprops={"arrowstyle": "-|>"})
            axes.text(left - 0.1, at, " · ".join(lever.members(layout, shaft)), ha="right")
            axes.text(left + speed, at, f"{speed:.3f}")
    axes.axis("off")
    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "none"}):
        figure.savefig(out, format="svg")
    return out.getvalue()


@pytest.mark.bench
@pytest.mark.parametrize("name", STORED)
def test_drawing_a_stick_diagram_with_stored_placement(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    layout = find(name)
    assert read(layout) is not None
    engaged = layout.ranges[0].engaged
    bare, shown = [], []
    for _ in range(ROUNDS):
        bare.append(milliseconds(lambda: stick_diagram.picture(layout).svg()))
        shown.append(milliseconds(lambda: stick_diagram.picture(layout, engaged).svg()))
    with capsys.disabled():
        print(f"\nstick diagram of {name}: bare {figures(bare)}; with a range {figures(shown)}")


@pytest.mark.bench
@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_placing_a_layout_anew(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    layout = replace(find(name), placement=None)
    times, crossings = [], []
    for seed in range(1, 5):
        found_plan.cache_clear()
        start = time.perf_counter()
        made = place(layout, seed)
        times.append(time.perf_counter() - start)
        crossings.append(len(made.faults.crossings))
        assert made.faults.clashes == 0
    with capsys.disabled():
        print(f"\nnew placement of {name}: {', '.join(f'{taken:.2f} s' for taken in times)}; crossings {crossings}")


@pytest.mark.bench
def test_a_lever_diagram_beside_a_redrawn_plot(capsys: pytest.CaptureFixture[str]) -> None:
    layout = find("Q48")
    engaged = layout.engaged_in("2")
    ours, theirs = [], []
    for _ in range(ROUNDS):
        ours.append(milliseconds(lambda: lever_diagram.picture(layout, engaged).svg()))
        theirs.append(milliseconds(lambda: plotted(layout, engaged)))
    ratio = statistics.median(other / own for own, other in zip(ours, theirs, strict=True))
    with capsys.disabled():
        print(f"\nlevers of Q48, range 2: kit {figures(ours)}; matplotlib {figures(theirs)}; {ratio:.0f} times")


@pytest.mark.bench
def test_the_other_pictures(capsys: pytest.CaptureFixture[str]) -> None:
    layout = find("Q48")
    engaged = layout.engaged_in("2")
    drawings: dict[str, Callable[[], object]] = {
        "front view": lambda: front_view.picture(layout.sets[0]).svg(),
        "speed plot": lambda: speed_plot.picture(layout).svg(),
        "application chart": lambda: chart.picture(layout).svg(),
        "power flow": lambda: power_picture.picture(layout, engaged).svg(),
    }
    for name, work in drawings.items():
        times = [milliseconds(work) for _ in range(ROUNDS)]
        with capsys.disabled():
            print(f"\n{name} of Q48: {figures(times)}")
