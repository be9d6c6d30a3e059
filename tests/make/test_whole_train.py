"""A whole train to print: it fits, slides together, locks and needs no supports; every check that says so can fail."""

from __future__ import annotations

import csv
import io
import math
import re
import struct
import sys
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree

import numpy
import pytest
from pypdf import PdfReader

from gearkit.cli.main import main
from gearkit.make.bench_model import assembly_faults
from gearkit.make.whole import bill
from gearkit.make.whole import proof as proving
from gearkit.make.whole.assembly import document
from gearkit.make.whole.checks import hanging, slide_hits
from gearkit.make.whole.files import closed, outlines, triangles
from gearkit.make.whole.half_section.elements import NotPrintableError
from gearkit.make.whole.handles import GAUGE_STEPS, gauge
from gearkit.make.whole.model import Whole, part_list, whole
from gearkit.make.whole.printer import Printer
from gearkit.make.whole.proof import end_plays, mesh_overlap, proof
from gearkit.make.whole.proven import proven
from gearkit.make.whole.solids import Solid, Workshop, engine
from gearkit.make.whole.write import refuse_failed, write
from gearkit.print.document import Document, Entries, Heading, Paragraph, Table, Together
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError
from gearkit.words.say import speaking
from gearkit.words.terms import PinionKind
from tests.support.amounts import amount
from tests.support.pseudo import Pseudo, escaped
from tests.support.random_layouts import random_layout

COARSE = 48
LARGEST = 220.0


@lru_cache
def made(name: str = "Q24") -> Whole:
    return whole(find(name), sides=COARSE)


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48", "pair_series", "pair_two_suns", "pair_common_sun"][: amount(6, 1)])
def test_the_whole_train_passes_every_check_and_fits_the_bed(name: str) -> None:
    train = made(name)
    failed = [check.what for check in proof(train, turns=amount(3, 1), slides=(1.5, 20.0)) if not check.passed]
    assert failed == []
    assert max(2 * train.train.outside, train.train.length[1] - train.train.length[0]) <= LARGEST
    assert name != "Q24" or len(train.parts) + sum(extra.count for extra in train.extras) <= 25
    assert {lock.pack.element for lock in train.locks} == set(range(len(train.layout.elements)))
    assert sum(planets.count for planets in train.planets.values()) == sum(pset.planets or 0 for pset in train.layout.sets)
    assert sum(len(solids) for _, _, solids in train.steps) == len(train.parts) + len(train.train.planets) + sum(
        len(extra.alike) for extra in train.extras
    )


def test_supports_are_seen_where_they_are_needed() -> None:
    lib = engine()

    def rod(height: float, radius: float) -> object:
        return lib.Manifold.cylinder(height, radius, radius, 96)

    cup = rod(20, 20) - rod(20, 17).translate((0, 0, 3))
    assert hanging(lib, cup, 1) == 0
    assert hanging(lib, cup, -1) == pytest.approx(math.pi * 17**2, rel=0.05)
    assert hanging(lib, rod(10, 10) + rod(3, 13).translate((0, 0, 7)), 1) > 150
    assert hanging(lib, rod(10, 10) + rod(3, 10.8).translate((0, 0, 7)), 1) == 0
    tube = rod(20, 30) - rod(20, 27)
    for wide, bridged in ((6, True), (9, True), (14, False), (25, False)):
        window = tube - lib.Manifold.cube((40, wide, 5)).translate((0, -wide / 2, 8))
        assert (hanging(lib, window, 1) == 0) is bridged, wide
    assert hanging(lib, tube + (rod(3, 28) - rod(3, 23)).translate((0, 0, 15)), 1) > 500
    assert hanging(lib, lib.Manifold.cylinder(10, 5, 14, 96), 1) == 0
    assert hanging(lib, lib.Manifold.cylinder(4, 5, 14, 96), 1) > 100


def test_teeth_half_a_tooth_out_overlap() -> None:
    train = made()
    pairs = [(w, next(p for p in train.train.planets if p.set == w.set)) for w in train.train.wheels]
    for wheel, planet in pairs:
        assert mesh_overlap(train, wheel, planet, 0.3) == pytest.approx(0, abs=0.002)
        assert mesh_overlap(train, wheel, planet, 0.3, off=0.5) > 2


def test_a_part_out_of_its_place_is_seen_at_rest_and_on_the_way() -> None:
    train = made()
    steps = [(name, solids) for _, name, solids in train.steps]
    assert slide_hits([*steps[:6], *reversed(steps[6:10])], (4.0,))
    prover = proving._Prover(train)
    moved = [replace(part, solid=part.solid.translate((0, 0, 4 * (number == 4)))) for number, part in enumerate(train.parts)]
    wrong = proving._Prover(replace(train, parts=moved)).rest()
    assert prover.rest().passed
    assert not wrong.passed
    assert "part_05" in wrong.what


def test_bodies_in_one_piece_could_not_be_put_together() -> None:
    train = made()
    bodies: dict[int, object] = {}
    for part in train.parts:
        bodies[part.body] = bodies[part.body] + part.solid if part.body in bodies else part.solid
    carrier, output = (train.layout.shaft_of(name) for name in ("P1.carrier", "output"))
    order = [("carrier", [bodies[carrier]]), ("output", [bodies[output]])]
    assert slide_hits(order, (20.0,))
    assert slide_hits(order[::-1], (20.0,))


def test_without_windows_no_key_reaches_an_inner_clutch() -> None:
    train = made()
    shop = Workshop(train.split, [], train.joints, COARSE)
    bare = replace(train, parts=[replace(part, solid=solid) for part, solid in zip(train.parts, shop.parts(), strict=True)])
    found = {check.what[: len("element A")]: check.passed for check in proving._Prover(bare).elements()}
    assert found == {f"element {element.name}": False for element in train.layout.elements}


def test_a_weak_joint_a_loose_shaft_and_an_open_surface_are_seen() -> None:
    train = made()
    weak = replace(train, joints=[replace(train.joints[0], area=0.1), *train.joints[1:]])
    assert not proving._Prover(weak).joints().passed
    sleeves = [number for number, part in enumerate(train.parts) if part.words.startswith("sleeve")]
    assert sleeves
    kept = [part for number, part in enumerate(train.split.parts) if number not in sleeves]
    loose = replace(train, split=replace(train.split, parts=kept))
    assert (
        max(sum(play) for play in end_plays(loose).values())
        > proving.MOST_PLAY
        >= max(sum(p) for p in end_plays(train).values())
    )
    corners, faces = triangles(train.parts[2].solid)
    assert closed(corners, faces)
    assert not closed(corners, faces[1:])


def test_a_shaft_that_could_slide_out_gets_a_longer_end_or_a_collar(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, body in [("pair_two_suns", "output"), ("pair_series", "input")][: amount(2, 1)]:
        layout = find(name)
        plays = {number: sum(play) for number, play in end_plays(whole(layout, sides=COARSE)).items()}
        assert max(plays.values()) <= proving.MOST_PLAY
        with monkeypatch.context() as patch:
            patch.setattr("gearkit.make.whole.half_section.stops.stop", lambda *_: None)
            loose = {number: sum(play) for number, play in end_plays(whole(layout, sides=COARSE)).items()}
        assert loose[layout.shaft_of(body)] > proving.MOST_PLAY


@pytest.mark.skipif(amount(0, 1) == 1, reason="takes a while: several trains are made and checked")
def test_other_arrangements_are_tried_before_a_layout_is_refused() -> None:
    def counted(seed: int, *counts: tuple[int, int]) -> Layout:
        layout = random_layout(seed, sets=len(counts))
        sets = zip(layout.sets, counts, strict=True)
        return replace(layout, sets=tuple(replace(s, sun_teeth=sun, ring_teeth=ring, planets=3) for s, (sun, ring) in sets))

    helped = counted(2, (45, 99))
    with pytest.raises(NotPrintableError, match="Element B cannot be reached from outside"):
        whole(helped)
    _, checks = proven(helped, Printer())
    assert all(check.passed for check in checks)
    # What is told as the nearest change was tried, and is true.
    refused = counted(1, (45, 99))
    with pytest.raises(
        NotPrintableError, match=r"arrangements that were found fail\. Nearest change: leave out element A"
    ) as told:
        proven(refused, Printer())
    assert "or print one set alone" in str(told.value)
    rest = tuple(element for element in refused.elements if element.name != "A")
    ranges = tuple(item for item in refused.ranges if "A" not in item.engaged)
    assert proven(replace(refused, elements=rest, ranges=ranges, placement=None), Printer())


def test_a_train_that_fails_a_check_is_not_written(tmp_path: Path) -> None:
    failed = [proving.Check("teeth overlap by 3 mm2", False)]
    with pytest.raises(
        NotPrintableError,
        match=r"(?s)Q24.*teeth overlap by 3 mm2.*Nearest change: print one set alone \(gearkit bench LAYOUT SET\)",
    ):
        write(made(), failed, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    refuse_failed(made(), [proving.Check("fine", True)])


def test_files_hold_what_was_made(tmp_path: Path) -> None:
    train = made()
    files = {file.name: file for file in write(train, [proving.Check("no part needs supports", True)], tmp_path)}
    for each in train.made:
        data = files[f"{each.name}.stl"].read_bytes()
        (count,) = struct.unpack("<I", data[80:84])
        rows = numpy.frombuffer(data[84:], dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("pad", "<u2")])
        assert len(rows) == count
        corners = rows["corners"].astype(float)
        volume = numpy.einsum("ij,ij->i", corners[:, 0], numpy.cross(corners[:, 1], corners[:, 2])).sum() / 6
        assert volume == pytest.approx(each.solid.volume(), rel=1e-3)
        assert corners[:, :, 2].min() == pytest.approx(0, abs=1e-3)
        points, place = numpy.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
        assert closed(points, place.reshape(-1, 3)), each.name
    with zipfile.ZipFile(files["train.3mf"]) as archive:
        tree = ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    space = {"m": tree.tag.partition("}")[0].strip("{")}
    assert len(tree.findall("m:resources/m:object", space)) == len(train.made)
    assert len(tree.findall("m:build/m:item", space)) == sum(each.count for each in train.made)
    assert (
        files["train.3mf"].read_bytes()
        == (write(train, [], tmp_path / "again"), (tmp_path / "again" / "train.3mf").read_bytes())[1]
    )
    rows_ = list(csv.DictReader(io.StringIO(files["bill_of_parts.csv"].read_text(encoding="utf-8"))))
    assert sum(int(row["pieces"]) for row in rows_ if row["file"] == "bought" and "set screw" in row["part"]) == len(
        train.locks
    )
    told = " ".join(page.extract_text() for page in PdfReader(files["assembly.pdf"]).pages)
    for words in (
        "Pinch points",
        "Print the gauge first",
        "Notches beside the bore",
        "The first bore in which you can turn it with two fingers is yours",
        "Step 18",
        "does not freewheel",
        "no part needs supports",
        "End play",
        "--clearance 0.25",
        "input and carrier 1",
        "planet of set 1, 27 teeth",
    ):
        assert words in told, words
    # Members and sets are said as on every other page, never as a layout file spells them.
    assert re.findall(r"\bP[12]\b", told.replace("planet_1_P1", "").replace("planet_2_P2", "")) == []
    # Range 1 holds the ring of P2 and drives its sun: 12 turns through 1 + 86/50 are 4 turns and 4.9 of 12 marks.
    assert divmod(Fraction(12) / (1 + Fraction(86, 50)), 1) == (4, Fraction(28, 68))
    assert "4 turns and 4.9 marks, the same way" in told
    assert "−2.800" in told


def test_both_ends_of_the_casing_have_twelve_marks_of_which_one_is_longer() -> None:
    train = made()
    shop, (left, right) = train.workshop, train.train.case
    for part, span in (("part_01", (left + 0.1, left + 0.4)), ("part_16", (right - 0.4, right - 0.1))):
        (wall,) = [each.solid for each in train.parts if each.name == part]

        def cut(low: float, high: float, turn: float, span: tuple[float, float] = span, wall: Solid = wall) -> float:
            probe = shop.block(((*span, low, high), turn, 0.004))
            return 1 - (probe ^ wall).volume() / probe.volume()

        turns = [2 * math.pi * mark / 12 for mark in range(12)]
        assert [round(cut(41, 47, turn), 2) for turn in turns] == [1] * 12
        assert [round(cut(41, 47, turn + math.pi / 12), 2) for turn in turns] == [0] * 12
        assert [round(cut(37, 39, turn), 2) for turn in turns] == [1] + [0] * 11


def test_time_and_filament_told_lie_between_a_hollow_and_a_solid_print() -> None:
    train = made()
    told = bill.total(train)
    solid = sum(each.solid.volume() * each.count for each in train.made) / 1000
    # Of PLA, 1.24 g/cm3 (common practice, no source), nothing can weigh more than if it were full, nor less than its fifth.
    assert 0.2 * 1.24 * solid < told.grams < 1.24 * solid
    # A filament of 1.75 mm that weighs as much is as long; a nozzle of 0.4 mm lays at most 0.4 x 0.2 mm at 50 mm/s, a little wider.
    assert told.metres == pytest.approx(told.grams / 1.24 / (math.pi * 0.0875**2) / 100, rel=1e-6)
    assert 0.5 < told.grams / 1.24 * 1000 / (0.4 * 0.2 * 50) / 60 / told.minutes < 1.5
    assert told.told in " ".join(words_of(document(train, [])))


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"][: amount(3, 1)])
def test_the_steps_say_into_which_part_the_screw_of_a_clutch_goes(name: str) -> None:
    train = made(name)
    steps = list(words_of(document(train, [])))
    told = dict[str, str]()
    for step in steps:
        for element in re.findall(r"turn in the set screw of (\w+) \(M3", step):
            assert element not in told
            told[element] = re.findall(r"\((part_\d+)\)", step)[0]
    clutches = {e.name for e in train.layout.elements if "housing" not in e.between}
    assert set(told) == clutches
    solids = {part.name: part.solid for part in train.parts}
    for lock in train.locks:
        element = train.layout.elements[lock.pack.element].name
        if element in told:
            # Where the thread is, the finished part has a hole, and beside it none.
            at = (lock.drum[0] + 0.2, min(lock.drum[1], lock.drum[0] + 2.0))
            hole, beside = (train.workshop.radial(lock.x, *at, 0.5, lock.at + turn) for turn in (0.0, 0.25))
            assert (hole ^ solids[told[element]]).volume() == pytest.approx(0, abs=1e-6)
            assert (beside ^ solids[told[element]]).volume() > 0.5


def test_the_pages_of_a_whole_train_can_be_had_in_another_language() -> None:
    with speaking(Pseudo()):
        train = whole(find("Q24"), sides=COARSE)
        texts = list(words_of(document(train, [])))
    assert len(texts) > 100
    own = {each.name for each in (*train.layout.elements, *train.layout.ranges)}
    files = {each.name for each in train.made} | {"gauge_plate", "gauge_peg"}
    plain = escaped(
        [re.sub(rf"\b({'|'.join(files)})\b|`.*?`|\bM3\b|\bmm\b", "", text.replace(train.layout.name, "")) for text in texts],
        own,
    )
    assert plain == []


def words_of(pages: Document) -> Iterator[str]:
    """Every text of a document, those in its pictures left out."""
    for block in pages.blocks:
        match block:
            case Heading() | Paragraph():
                yield block.text
            case Entries():
                yield from block.texts
            case Table():
                yield from block.head
                for row in block.rows:
                    yield from row
            case Together():
                yield from words_of(replace(pages, blocks=block.blocks))


def test_flat_parts_have_outlines_to_cut_and_others_none() -> None:
    train = made()
    flat = {each.name: outlines(each) for each in train.made}
    crank = next(each for each in train.made if each.name == "crank")
    area = abs(sum(_area(loop) for loop in flat["crank"]))
    box = crank.solid.bounding_box()
    assert area * (box[5] - box[2]) == pytest.approx(crank.solid.volume(), rel=1e-3)
    assert flat["part_16"] == []
    assert all(flat[each.name] for each in train.planets.values())


def _area(loop: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)) / 2


def test_the_gauge_has_a_bore_for_each_clearance() -> None:
    plate, peg = gauge(made().workshop)
    loops = [[tuple(point) for point in loop.tolist()] for loop in plate.solid.slice(4.0).simplify(0.001).to_polygons()]
    sizes = sorted(math.sqrt(-_area(loop) / math.pi) for loop in loops if _area(loop) < 0)
    assert sizes == pytest.approx([6.15, 6.2, 6.25, 6.3, 6.4, 6.5], abs=0.02)
    # The plate's edge below each bore has as many notches as the assembly page's table says, and the bores stand in its order.
    bores = sorted((loop for loop in loops if _area(loop) < 0), key=lambda loop: min(x for x, _ in loop))
    for notches, (step, bore) in enumerate(zip(GAUGE_STEPS, bores, strict=True), 1):
        assert math.sqrt(-_area(bore) / math.pi) == pytest.approx(6 + step, abs=0.02)
        left, right = min(x for x, _ in bore) - 3, max(x for x, _ in bore) + 3
        deep = [x for loop in loops if _area(loop) > 0 for x, y in loop if left < x < right and abs(y - 1.5) < 0.01]
        assert len(deep) == 2 * notches
    assert hanging(engine(), peg.solid, 1) == 0


@pytest.mark.parametrize(
    ("name", "printer", "words"),
    [
        ("Q24", Printer(bed=120), r"at its smallest.*120 mm. Nearest change: a printer with a bed of \d+ mm"),
        ("Q48", Printer(nozzle=1.0), r"printer takes 220 mm|finer nozzle"),
    ],
)
def test_what_does_not_fit_names_the_nearest_change(name: str, printer: Printer, words: str) -> None:
    with pytest.raises(NotPrintableError, match=words):
        whole(find(name), printer, sides=COARSE)


def test_what_cannot_be_made_is_refused_with_the_nearest_change() -> None:
    layout = find("Q24")
    odd = replace(layout, sets=(replace(layout.sets[0], ring_teeth=85), layout.sets[1]))
    with pytest.raises(
        NotPrintableError, match=r"(?s)half a tooth.*P1: nearest change: (?:sun|ring) = \d+ in the layout file"
    ) as told:
        whole(odd)
    # What is told can be made: its counts go in as they stand.
    name, value = str(told.value).rpartition("nearest change: ")[2].split(" in the")[0].split(" = ")
    mended = replace(odd.sets[0], **{"sun": {"sun_teeth": int(value)}, "ring": {"ring_teeth": int(value)}}[name])
    assert assembly_faults(mended) == []
    crowded = replace(layout, sets=(replace(layout.sets[0], sun_teeth=20, ring_teeth=64, planets=3), layout.sets[1]))
    with pytest.raises(
        NotPrintableError, match=r"in each other's way.*Nearest change: more teeth on set P1, such as sun = \d+ and ring = \d+"
    ) as told:
        whole(crowded)
    sun, ring = (int(number) for number in re.findall(r" = (\d+)", str(told.value)))
    whole(replace(crowded, sets=(replace(crowded.sets[0], sun_teeth=sun, ring_teeth=ring), layout.sets[1])), sides=COARSE)
    bevel = replace(layout.sets[0], pinions=PinionKind.BEVEL, ring_teeth=30)
    with pytest.raises(NotPrintableError, match="Nearest change: a set with single pinions"):
        whole(replace(layout, sets=(bevel, layout.sets[1])))
    with pytest.raises(GearkitError, match=r"Clearance 2 mm: give a value from 0\.1 to 0\.6 mm"):
        Printer(clearance=2)


def test_the_list_of_parts_needs_no_library(monkeypatch: pytest.MonkeyPatch) -> None:
    steps = [(words, len(solids)) for _, words, solids in made().steps]
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    assert part_list(find("Q24")) == steps


def test_without_the_library_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    with pytest.raises(GearkitError, match=r"pip install 'gearkit\[bench\]'"):
        engine()


def test_the_command_asks_for_one_set_or_the_whole(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for wrong in (["bench", "Q24", "-o", str(tmp_path)], ["bench", "Q24", "P1", "--whole", "-o", str(tmp_path)]):
        assert main(wrong) != 0
        assert "--whole" in capsys.readouterr().err
    assert main(["bench", "Q24", "--whole", "--module", "2", "-o", str(tmp_path)]) != 0
    assert "--bed" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
