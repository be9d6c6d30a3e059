"""Damaged, changed and misplaced files: what happens to notebooks between handing out and handing in."""

from __future__ import annotations

import contextlib
import gzip
import io
import json
import os
import socket
import struct
import warnings
import zipfile
from collections.abc import Callable
from typing import Any

from gearkit.answers.judge import marking
from tests.hostile.cases import (
    ALL,
    ITEMS,
    NOTHING,
    SHEET,
    A,
    B,
    C,
    Case,
    D,
    Place,
    as_bytes,
    changed,
    checked,
    code_cell,
)
from tests.support.amounts import amount

Book = dict[str, Any]


def _raw(data: bytes) -> Any:
    return lambda place: place.hand_in(data)


def _cut(book: Book, place: Place) -> bytes:
    data = as_bytes(book)
    return data[: data.index(b'"id": "' + C.encode() + b'-task"')]


def _merge(book: Book, place: Place) -> bytes:
    text = json.dumps(book, indent=1)
    at = text.index(f'"id": "{B}"')
    at = text.rindex("{", 0, at)
    return (text[:at] + "\n<<<<<<< HEAD\n" + text[at:]).encode()


def _twice_blank(book: Book, place: Place) -> None:
    stub = dict(place.cell_of(book, A), source=place.variants[A].answer_cell())
    book["cells"].insert(book["cells"].index(place.cell_of(book, A)) + 1, stub)


def _twice_other(book: Book, place: Place) -> None:
    book["cells"].append(dict(place.cell_of(book, A), source=f'answer("{A}", "1/999")'))


def _split(book: Book, place: Place) -> None:
    cell = place.cell_of(book, A)
    at = book["cells"].index(cell)
    head, tail = cell["source"].split(", ", 1)
    book["cells"][at : at + 1] = [dict(cell, source=head + ","), dict(cell, source=tail)]


def _retyped(kind: str) -> Any:
    def change(book: Book, place: Place) -> None:
        for item in (A, C):
            cell = place.cell_of(book, item)
            cell["cell_type"] = kind
            del cell["outputs"], cell["execution_count"]

    return changed(change)


def _without(*items: str) -> Any:
    def change(book: Book, place: Place) -> None:
        for item in items:
            book["cells"].remove(place.cell_of(book, item))

    return changed(change)


def _stripped(book: Book, place: Place) -> None:
    book["metadata"] = {}
    for cell in book["cells"]:
        cell["metadata"] = {}
        cell.pop("id", None)


def _no_setup(book: Book, place: Place) -> None:
    del book["cells"][1]


def _no_kernel(book: Book, place: Place) -> None:
    del book["metadata"]["kernelspec"]


def _odd_metadata(book: Book, place: Place) -> None:
    book["metadata"] = [1, 2]
    for cell in book["cells"]:
        cell["metadata"] = {"nbgrader": [3], "gearkit": "x", "tags": {"a": None}}


def _older(book: Book, place: Place) -> Book:
    cells = [
        {
            "cell_type": cell["cell_type"],
            "input": cell["source"],
            "language": "python",
            "outputs": [],
            "metadata": cell["metadata"],
        }
        for cell in book["cells"]
    ]
    return {"nbformat": 3, "nbformat_minor": 0, "metadata": {}, "worksheets": [{"cells": cells, "metadata": {}}]}


def _swapped_cards(book: Book, place: Place) -> None:
    first, second = place.cell_of(book, A), place.cell_of(book, B)
    first["metadata"], second["metadata"] = second["metadata"], first["metadata"]


def _points(book: Book, place: Place) -> None:
    for cell in book["cells"]:
        if cell["metadata"]["nbgrader"].get("points"):
            cell["metadata"]["nbgrader"]["points"] = 1000


def _card(**forged: Any) -> Any:
    def change(book: Book, place: Place) -> None:
        book["metadata"]["gearkit"].update(forged)

    return changed(change)


def _of_neighbour(place: Place) -> None:
    # Numbers are drawn: some neighbour may by chance have the same right answer, and copying it would then be right.
    own = place.variants

    def shares_none(other: str) -> bool:
        theirs = place.room.variants(other)
        return all(marking.right_answer(own[item]) != marking.right_answer(theirs[item]) for item in (A, B, C))

    neighbour = next(other for number in range(100) if shares_none(other := f"g{number:03d}"))
    copy = Place(place.room, neighbour, place.learner, place.port).book(A, B, C)
    place.hand_in(copy)


def _archive(names: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in names.items():
            archive.writestr(name, data)
    return out.getvalue()


def _swelling(megabytes: int) -> bytes:
    """A small archive whose only notebook is large; packing it takes a quarter of a second."""
    return _archive({"a.ipynb": b" " * (megabytes << 20)})


def _zipped(place: Place) -> None:
    place.hand_in(_archive({"work/" + SHEET + ".ipynb": as_bytes(place.book())}), "work.zip")


def _archive_with_link() -> bytes:
    """An archive whose only notebook is a link to a file of this machine."""
    entry = zipfile.ZipInfo("a.ipynb")
    entry.create_system, entry.external_attr = 3, 0o120777 << 16
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(entry, "/etc/passwd")
    return out.getvalue()


def _own_module(place: Place) -> None:
    place.hand_in(place.book())
    place.hand_in(b"raise SystemExit", "sympy.py")
    place.hand_in(b"raise SystemExit", "gearkit.py")


def _damaged(archive: bytes) -> bytes:
    """An archive in whose packed content a few bytes were lost."""
    at = archive.index(b".ipynb") + len(b".ipynb") + 200
    return archive[:at] + bytes(40) + archive[at + 40 :]


def _packed_by(method: int) -> Any:
    def make(place: Place) -> None:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", method) as archive:
            archive.writestr("a.ipynb", as_bytes(place.book()))
        place.hand_in(out.getvalue(), "work.zip")

    return make


def _beside(content: bytes, name: str) -> Any:
    def make(place: Place) -> None:
        _zipped(place)
        place.hand_in(content, name)

    return make


def _beside_it(files: dict[str, bytes]) -> Any:
    def make(place: Place) -> None:
        folder = place.room.hand_in(place.learner, place.book())
        for name, data in files.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_bytes(data)

    return make


def _among(names: str) -> Any:
    def make(place: Place) -> None:
        place.hand_in(place.book())
        for number in range(600):
            place.hand_in(b"x", names.format(number))

    return make


def _behind_large_ones(place: Place) -> None:
    place.hand_in(place.book())
    for name in ("A1.ipynb", "A2.ipynb"):
        place.hand_in(b" ", name)
        os.truncate(place.room.course.submitted_folder(place.learner, SHEET) / name, 64 << 20)


def _with_hole(place: Place) -> None:
    place.hand_in(place.book())
    os.truncate(place.room.course.submitted_folder(place.learner, SHEET) / f"{SHEET}.ipynb", 70 << 20)


def _zipped_twice(place: Place) -> None:
    place.hand_in(_archive({"a.zip": _archive({"x.ipynb": as_bytes(place.book())})}), "work.zip")


def _zip_path(place: Place) -> None:
    place.hand_in(_archive({"../../../../tmp/x.ipynb": as_bytes(place.book())}), "work.zip")


def _link(place: Place) -> None:
    folder = place.room.course.submitted_folder(place.learner, SHEET)
    folder.mkdir(parents=True)
    neighbour = place.room.course.submitted_folder(place.neighbour, SHEET) / f"{SHEET}.ipynb"
    (folder / f"{SHEET}.ipynb").symlink_to(neighbour)


def _linked_folder(place: Place) -> None:
    folder = place.room.course.submitted_folder(place.learner, SHEET)
    folder.parent.mkdir(parents=True)
    folder.symlink_to(place.room.course.submitted_folder(place.neighbour, SHEET))


def _pipe(place: Place) -> None:
    folder = place.room.course.submitted_folder(place.learner, SHEET)
    folder.mkdir(parents=True)
    os.mkfifo(folder / f"{SHEET}.ipynb")


def _folder_for_file(place: Place) -> None:
    (place.room.course.submitted_folder(place.learner, SHEET) / f"{SHEET}.ipynb").mkdir(parents=True)


def _subfolder(place: Place) -> None:
    (place.room.course.submitted_folder(place.learner, SHEET) / "my work").mkdir(parents=True)
    place.hand_in(place.book(), f"my work/{SHEET}.ipynb")


def _checkpoint(place: Place) -> None:
    (place.room.course.submitted_folder(place.learner, SHEET) / ".ipynb_checkpoints").mkdir(parents=True)
    place.hand_in(place.book(), f".ipynb_checkpoints/{SHEET}-checkpoint.ipynb")


def _two_files(place: Place) -> None:
    place.hand_in(place.book())
    place.hand_in(place.book("none"), f"{SHEET} (1).ipynb")


def _folder_of_time(place: Place) -> None:
    place.hand_in(place.book())
    stamp = place.room.course.submitted_folder(place.learner, SHEET) / "timestamp.txt"
    stamp.unlink()
    stamp.mkdir()


def _twice_in_archive(place: Place) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for book in (place.book(A), place.book()):
            archive.writestr(f"{SHEET}.ipynb", as_bytes(book))
    place.hand_in(out.getvalue(), "work.zip")


def _socket(place: Place) -> None:
    folder = place.room.course.submitted_folder(place.learner, SHEET)
    folder.mkdir(parents=True)
    with socket.socket(socket.AF_UNIX) as one, contextlib.chdir(folder):
        one.bind(f"{SHEET}.ipynb")


def _linked_time(place: Place) -> None:
    folder = place.room.hand_in(place.learner, place.book(), time="")
    (folder / "timestamp.txt").symlink_to("/dev/zero")


def _many_cells(book: Book, place: Place) -> None:
    book["cells"] = book["cells"] + [code_cell("1 + 1")] * 1500


def _bare(book: Book, place: Place) -> None:
    for item in ITEMS:
        cell = place.cell_of(book, item)
        cell["source"] = "# my answer\n" + cell["source"].split(", ", 1)[1].rstrip(")").strip("'\"")


def _mistyped(book: Book, place: Place) -> None:
    place.cell_of(book, A)["source"] = place.cell_of(book, A)["source"].rstrip(")")
    place.cell_of(book, B)["source"] = place.cell_of(book, B)["source"].replace("'", "\u2019")


def _in_task(book: Book, place: Place) -> None:
    answer = place.cell_of(book, A)["source"]
    book["cells"].remove(place.cell_of(book, A))
    task = next(cell for cell in book["cells"] if cell["metadata"]["gearkit"].get("task") == A)
    task["source"] = answer


def _listed_source(book: Book, place: Place) -> None:
    for cell in book["cells"]:
        cell["source"] = [*cell["source"].splitlines(keepends=True), 7, None]


def _doubled_keys(book: Book, place: Place) -> bytes:
    return as_bytes(book).replace(b'"nbformat": 4', b'"nbformat": 4, "nbformat": 4, "x": NaN, "y": 1e999')


def _deep_outputs(book: Book, place: Place) -> bytes:
    return as_bytes(book).replace(b'"outputs": []', b'"outputs": ' + b"[" * 40000 + b"]" * 40000, 1)


def _big_outputs(book: Book, place: Place) -> None:
    place.cell_of(book, A)["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x" * 20_000_000}]


def _merged_with_own(book: Book, place: Place) -> None:
    own, answer = book["cells"][1], place.cell_of(book, A)
    own["source"] += "\n\n" + answer["source"]
    book["cells"].remove(answer)


_PLACES_IN_OWN_CELL = {
    "above": lambda own, answer: f"{answer}\n{own}",
    "in place of": lambda own, answer: answer,
    "between remarks in": lambda own, answer: f"# mine\n{own}\n# here\n{answer}",
}


def _in_own_cell(how: Callable[[str, str], str]) -> Any:
    def change(book: Book, place: Place) -> None:
        own, answer = book["cells"][1], place.cell_of(book, A)
        own["source"] = how(own["source"], answer["source"])
        book["cells"].remove(answer)

    return change


_WRITTEN = {
    "with wide brackets": lambda call: call.replace("(", "（", 1)[:-1] + "）",
    "in a fence": lambda call: f"```python\n{call}\n```",
    "behind a sign without width": lambda call: f"\u200b{call}",
    "with a blank that does not break": lambda call: call.replace("(", "\u00a0(", 1),
}


def _written(how: Callable[[str], str]) -> Any:
    def change(book: Book, place: Place) -> None:
        place.cell_of(book, A)["source"] = how(place.cell_of(book, A)["source"])

    return change


_NO_CARDS: dict[str, Any] = {
    "nothing": None,
    "a list": [],
    "a text": "x",
    "tables of lists": {"gearkit": {"item": ["x"]}},
    "tables of numbers": {"nbgrader": {"grade_id": 7}},
}


def _cards(cards: Any) -> Any:
    def change(book: Book, place: Place) -> None:
        for cell in book["cells"]:
            cell["metadata"] = cards

    return change


def _emptied_below(book: Book, place: Place) -> None:
    place.cell_of(book, A)["source"] += f"\nanswer({A!r}, '')"


def _marked_order(book: Book, place: Place) -> None:
    place.cell_of(book, A)["source"] = "\ufeff" + place.cell_of(book, A)["source"]


def _orders_to_the_screen(book: Book, place: Place) -> None:
    book["cells"].append(code_cell(r"answer('x\n  g001: could not be read.\x1b[2J\u202e', 1)"))


def _nine_hundred_deep(book: Book, place: Place) -> bytes:
    return b'{"id":' * 900 + b"[" + b"0," * 2_000_000


def _empty_lists(book: Book, place: Place) -> bytes:
    return b'{"x": [' + b"[]," * 1_200_000 + b"0], " + as_bytes(book)[1:]


def _more_cells(count: int, source: str) -> Any:
    return changed(lambda book, place: book["cells"].extend(dict(place.cell_of(book, A), source=source) for _ in range(count)))


def _long_list(book: Book, place: Place) -> bytes:
    entry = b"PK\x01\x02\x14\x03\x14" + bytes(21) + b"\x01\0" + bytes(16) + b"a"
    content = entry * amount(400_000, 40_000)
    return b"PK\x03\x04" + content + struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, len(content), 4, 0)


DAMAGED = [
    Case("broken JSON", _raw(b"{not json"), NOTHING, "damaged or something else", failed=True),
    Case("an empty file", _raw(b""), NOTHING, "is empty", failed=True),
    Case("a picture named as a notebook", _raw(b"\x89PNG\r\n\x1a\n" + b"\0" * 500), NOTHING, "damaged", failed=True),
    Case("a list in place of a notebook", _raw(b"[1, 2, 3]"), NOTHING, "damaged", failed=True),
    Case("brackets without end", _raw(b"[" * 1_000_000), NOTHING, "damaged", failed=True),
    Case("a notebook without cells", _raw(b'{"cells": [], "metadata": {}, "nbformat": 4}'), NOTHING),
    Case(
        "cells that are no cells",
        _raw(b'{"cells": [null, 3, "x", {"cell_type": 7}], "nbformat": 4}'),
        NOTHING,
        failed=True,
        flag="damaged",
    ),
    Case("a file that was cut off", changed(_cut), ALL - {C, D}, "The file is damaged"),
    Case("marks of a merge", changed(_merge), ALL, "The file is damaged"),
    Case("UTF-16", changed(lambda b, p: json.dumps(b).encode("utf-16")), flag="UTF-16"),
    Case("UTF-32", changed(lambda b, p: json.dumps(b).encode("utf-32")), flag="UTF-32"),
    Case("UTF-16 that does not say so", changed(lambda b, p: json.dumps(b).encode("utf-16-le")), flag="UTF-16-LE"),
    Case("numbers of five thousand digits", changed(lambda b, p: as_bytes(b).replace(b"null", b"9" * 5000))),
    Case("a byte-order mark", changed(lambda b, p: b"\xef\xbb\xbf" + as_bytes(b)), flag="byte-order mark"),
    Case(
        "Windows letters",
        changed(lambda b, p: json.dumps({**b, "x": "é"}, ensure_ascii=False).encode("cp1252")),
        flag="Windows-1252",
    ),
    Case("doubled keys and numbers that are none", changed(_doubled_keys)),
    Case("outputs nested very deep", changed(_deep_outputs), ALL, "The file is damaged"),
    Case("a list without end, nine hundred deep", changed(_nine_hundred_deep), NOTHING, "damaged", failed=True),
    Case("a million empty lists", changed(_empty_lists), flag="holds far more than a notebook"),
    Case("twenty megabytes of output", changed(_big_outputs)),
    Case("zero characters in the text", changed(lambda b, p: as_bytes(b).replace(b"# Exercises", b"\\u0000\\ud800"))),
    Case(
        "plain Python in place of a notebook",
        lambda p: p.hand_in("\n".join(c["source"] for c in p.book()["cells"] if c["cell_type"] == "code").encode()),
        flag="plain text",
    ),
]

CELLS = [
    Case("an answer cell twice", changed(lambda b, p: b["cells"].append(dict(p.cell_of(b, A))))),
    Case("an answer cell and an empty copy of it", changed(_twice_blank)),
    Case("an answer cell and a wrong one below", changed(_twice_other), ALL - {A}, "the last answer counts"),
    Case("an answer cell split in two", changed(_split), ALL, "not a proper call"),
    Case("cells in the opposite order", changed(lambda b, p: b["cells"].reverse())),
    Case("answers in text cells", _retyped("markdown"), flag="no longer a code cell"),
    Case("answers in raw cells", _retyped("raw"), flag="no longer a code cell"),
    Case("two answer cells deleted", _without(A, D), ALL - {A, D}),
    Case("the sheet's own cell deleted", changed(_no_setup)),
    Case("all cards stripped", changed(_stripped)),
    Case("cards of odd kinds", changed(_odd_metadata)),
    Case("two cards swapped", changed(_swapped_cards)),
    Case("a thousand marks written into the cards", changed(_points)),
    Case("the older format with worksheets", changed(_older)),
    Case("a format from the future", changed(lambda b, p: b.update(nbformat=99, nbformat_minor=7))),
    Case(
        "another language",
        changed(lambda b, p: b["metadata"].update(kernelspec={"name": "ir", "language": "R", "display_name": "R"})),
        flag="saved for 'R'",
    ),
    Case("no kernel at all", changed(_no_kernel)),
    Case("fifteen hundred cells more", changed(_many_cells)),
    Case("a cell of one megabyte", changed(lambda b, p: b["cells"].insert(2, code_cell("#" * 1_000_000))), flag="left out"),
    Case("the sheet's own cell merged with an answer", changed(_merged_with_own), flag="added to it as another cell"),
    *[
        Case(f"answers {words} the sheet's own cell", changed(_in_own_cell(how)), flag="added to it as another cell")
        for words, how in _PLACES_IN_OWN_CELL.items()
    ],
    Case("an empty call below the answer in its cell", changed(_emptied_below)),
    Case("a byte-order mark in a cell", changed(_marked_order)),
    Case(
        "an item's name with orders to the screen",
        changed(_orders_to_the_screen),
        flag=r"left aside: x\n  g001: could not be read.\x1b[2J\u202e.",
    ),
    Case("many calls with a gap in the middle", _more_cells(300, f"answer('{C}', x{' ' * 900}y (")),
    Case("many cells of closing brackets", _more_cells(12, ")" * 99_000)),
    Case("a hundred thousand empty lines", _more_cells(1, "x = 1" + "\n" * 90_000 + "y = 2")),
    Case("answers without the call", changed(_bare), flag="not a proper call"),
    Case("a bracket and quotation marks mistyped", changed(_mistyped), flag="not a proper call"),
    *[Case(f"a call {name}", changed(_written(how)), flag="not a proper call") for name, how in _WRITTEN.items()],
    *[
        Case(f"cards that are {name}", changed(_cards(cards)), flag="dropped its cells' cards")
        for name, cards in _NO_CARDS.items()
    ],
    Case("an answer written over its task", changed(_in_task), flag="no longer a code cell"),
    Case("sources as lists with strange entries", changed(_listed_source)),
    Case(
        "a changed cell of the sheet",
        changed(lambda b, p: b["cells"][1].update(source="answer = print")),
        flag="own cell was changed",
    ),
]

PLACES = [
    Case("a renamed file", lambda p: p.hand_in(p.book(), f"{SHEET} (1).ipynb"), flag="the answers were taken from"),
    Case("a file named in capitals", lambda p: p.hand_in(p.book(), f"{SHEET}.IPYNB"), flag="were taken from"),
    Case("a name with a line break", lambda p: p.hand_in(p.book(), "a\nb$(touch x).ipynb"), flag="were taken from"),
    Case("a name that is no text", lambda p: p.hand_in(p.book(), os.fsdecode(b"\xff\xfe.ipynb")), flag="were taken from"),
    Case("a file in a folder", _subfolder, flag="were taken from"),
    Case("two files", _two_files, flag="Left aside"),
    Case(
        "leftovers of programs beside the notebook",
        _beside_it({".DS_Store": b"x", "A1.ipynb~": b"x", "__MACOSX/._a": b"x"}),
        flag="3 hidden files or leftovers of programs were not looked at",
    ),
    Case("a damaged record of lessons", _beside_it({"my_record.json": b'{"events": '}), flag="(my_record.json) is damaged"),
    Case(
        "a damaged second notebook",
        _beside_it({"old/first.ipynb": b"{"}),
        flag="first.ipynb' (it cannot be read as a notebook)",
    ),
    Case(
        "other files in an archive with the notebook",
        lambda p: p.hand_in(
            _archive({"A.ipynb": as_bytes(p.book()), "essay.docx": b"x", "__MACOSX/._A.ipynb": b"x"}), "work.zip"
        ),
        flag="essay.docx",
    ),
    Case(
        "an archive of very many small files",
        lambda p: p.hand_in(_archive({"A.ipynb": as_bytes(p.book()), **{f"{n}.txt": b"" for n in range(3000)}}), "work.zip"),
        flag="only the first 500",
    ),
    Case("only a checkpoint", _checkpoint, NOTHING, "holds no notebook", failed=True),
    Case("an archive", _zipped, flag="work.zip"),
    Case("an archive in an archive", _zipped_twice, flag="a.zip"),
    Case("an archive with a path that climbs", _zip_path),
    Case(
        "an archive that swells",
        lambda p: p.hand_in(_swelling(80), "work.zip"),
        NOTHING,
        "is empty",
        failed=True,
    ),
    Case("a link in an archive", lambda p: p.hand_in(_archive_with_link(), "work.zip"), NOTHING, "damaged", failed=True),
    Case("a file of seventy megabytes", lambda p: p.hand_in(b" " * (70 << 20)), NOTHING, "larger than 64 MB", failed=True),
    Case("a module of one's own beside the notebook", _own_module),
    Case(
        "archives in an archive that all swell",
        lambda p: p.hand_in(_archive(dict.fromkeys((f"{n}.zip" for n in range(30)), _swelling(60))), "work.zip"),
        NOTHING,
        "is larger than 128 MB",
        failed=True,
    ),
    Case(
        "an archive with damage inside",
        lambda p: p.hand_in(_damaged(_archive({"a.ipynb": as_bytes(p.book())})), "work.zip"),
        NOTHING,
        "cannot be unpacked",
        failed=True,
    ),
    *[
        Case(
            f"an archive packed by {name}",
            _packed_by(method),
            NOTHING,
            "packed in a rare way; ask for an ordinary zip",
            failed=True,
        )
        for name, method in (("bzip2", zipfile.ZIP_BZIP2), ("lzma", zipfile.ZIP_LZMA))
    ],
    Case("an archive beside an empty notebook", _beside(b'{"cells": [], "metadata": {}}', "Untitled.ipynb"), flag="work.zip"),
    Case("an archive beside a damaged notebook", _beside(b"{", f"{SHEET}.ipynb"), flag="work.zip"),
    Case("very many files beside the notebook", _among("0{}.txt"), flag="only the first 500 were looked at"),
    Case("very many notebooks beside the right one", _among("A{}.ipynb"), flag="only the first 500 were looked at"),
    Case("large files that come before the notebook", _behind_large_ones, flag="is larger than 128 MB"),
    Case("a notebook that goes on with nothing", _with_hole, flag="larger than 64 MB"),
    Case("an archive with a list of very many files", changed(_long_list), NOTHING, "entries and was not opened", failed=True),
    Case(
        "an archive that is none", lambda p: p.hand_in(b"PK\x03\x04xxxx", "work.zip"), NOTHING, "cannot be opened", failed=True
    ),
    Case("an archive with two files of one name", _twice_in_archive, flag="work.zip"),
    Case(
        "an archive of another kind",
        lambda p: p.hand_in(gzip.compress(as_bytes(p.book())), "work.tar.gz"),
        NOTHING,
        "holds no notebook, only 'work.tar.gz'",
        failed=True,
    ),
    Case("a socket", _socket, NOTHING, "cannot be opened", failed=True),
    Case("a link to a neighbour's file", _link, NOTHING, "was not followed", failed=True),
    Case("a link to a neighbour's folder", _linked_folder, NOTHING, "not followed", failed=True),
    Case("a pipe that nobody writes to", _pipe, NOTHING, "not an ordinary file", failed=True),
    Case("a folder named as the file", _folder_for_file, NOTHING, "holds no notebook", failed=True),
    Case("a neighbour's notebook", _of_neighbour, frozenset(), "it was made for"),
    Case("a card for somebody else", _card(learner="s-other"), flag="it was made for 's-other'"),
    Case("a card for another sheet", _card(sheet="other"), flag="it belongs to sheet 'other'"),
    Case("a card for another attempt", _card(attempt=2), flag="attempt '2'"),
    Case("a card of a strange kind", _card(learner=["x"] * 1000, sheet=None, attempt=True), flag="it was made for"),
    Case("a time that is no time", lambda p: p.hand_in(p.book(), time="yesterday\n" * 100), flag="timestamp.txt"),
    Case("a folder in the place of the time", _folder_of_time, flag="timestamp.txt"),
    Case(
        "a time at the end of the calendar",
        lambda p: p.hand_in(p.book(), time="9999-12-31 23:59:59 -1200"),
        flag="is in the year 9999 and was not believed",
    ),
    Case("a time that is a link to a device", _linked_time, flag=""),
]

CASES = checked(DAMAGED + CELLS + PLACES)
