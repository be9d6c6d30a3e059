"""Reading notebook files, sound and damaged, and finding them in what was handed in."""

from __future__ import annotations

import io
import json
import os
import warnings
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.run.read import finding, notebooks
from graders.run.read.notebooks import Notebook, load

ITEMS = ("L03-01", "L03-02")


def code(source: Any, **metadata: Any) -> dict[str, Any]:
    return {"cell_type": "code", "execution_count": None, "id": "a", "metadata": metadata, "outputs": [], "source": source}


def notebook(*sources: Any, **metadata: Any) -> dict[str, Any]:
    return {"cells": [code(source) for source in sources], "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}


def loaded(data: Any) -> Notebook:
    found = load(data if isinstance(data, bytes) else json.dumps(data).encode())
    assert found is not None
    return found


TWO = notebook('answer("L03-01", 1)', ["answer(", '"L03-02", 2)'])
TEXTS = ['answer("L03-01", 1)', 'answer("L03-02", 2)']


def test_a_sound_notebook_gives_its_cells_and_no_flag() -> None:
    found = loaded(TWO)
    assert ([cell.source for cell in found.cells], found.flags) == (TEXTS, ())
    assert found.whole == TWO


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_other_encodings_are_read_and_flagged(encoding: str) -> None:
    found = loaded(json.dumps(notebook("# größer ü"), ensure_ascii=False).encode(encoding))
    assert found.cells[0].source == "# größer ü"
    assert len(found.flags) == 1


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be", "utf-32"])
def test_encodings_of_wide_letters_are_told_without_their_mark(encoding: str) -> None:
    found = loaded(json.dumps(TWO).encode(encoding))
    assert [cell.source for cell in found.cells] == TEXTS
    assert found.flags[0].startswith(f"The file is saved as {encoding.upper()}")


def test_a_number_longer_than_python_reads_costs_no_cell() -> None:
    text = json.dumps(TWO).replace("null", "9" * 5000)
    assert [cell.source for cell in loaded(text.encode()).cells] == TEXTS
    assert loaded(text.encode()).flags == ()
    assert [cell.source for cell in loaded(text[:-1].encode()).cells] == TEXTS


def test_whole_cells_are_saved_from_a_file_that_was_cut_off() -> None:
    text = json.dumps(TWO)
    found = loaded(text[: text.index("L03-02") + 4].encode())
    assert [cell.source for cell in found.cells] == TEXTS[:1]
    assert found.flags == ("The file is damaged; 1 cells that are still whole were taken from it.",)


def test_whole_cells_are_saved_from_a_file_with_marks_of_a_merge() -> None:
    text = json.dumps(TWO, indent=1).replace('{\n   "cell_type"', '<<<<<<< mine\n{\n   "cell_type"', 1)
    assert [cell.source for cell in loaded(text.encode()).cells] == TEXTS


def test_the_older_format_with_worksheets_is_read() -> None:
    old = {"nbformat": 3, "worksheets": [{"cells": [{"cell_type": "code", "input": TEXTS[0], "language": "python"}]}]}
    assert loaded(old).cells[0].source == TEXTS[0]


def test_plain_text_with_answers_is_taken_as_one_cell() -> None:
    assert loaded(b'answer("L03-01", 1)\r\n').cells[0].source == TEXTS[0] + "\n"


def test_cells_of_no_form_are_left_out_and_counted() -> None:
    strange = notebook(TEXTS[0])
    strange["cells"] += [None, 7, {"cell_type": 3}, code({"a": 1}), code("x" * 200_000)]
    found = loaded(strange)
    assert len(found.cells) == 1
    assert found.flags == ("5 cells of the file are damaged, too long or too many and were left out.",)


def test_the_text_of_all_cells_together_is_bounded() -> None:
    found = loaded({**notebook(TEXTS[0]), "cells": [code("#" * 99_000) for _ in range(60)] + [code(TEXTS[0])]})
    assert (len(found.cells), found.cells[-1].source) == (41, TEXTS[0])
    assert found.flags == ("20 cells of the file are damaged, too long or too many and were left out.",)


def test_a_file_of_very_many_pieces_is_taken_apart_and_not_built_up_in_memory() -> None:
    text = json.dumps(TWO)
    found = loaded(f'{{"x": [{"[]," * 1_200_000}0], {text[1:]}'.encode())
    assert [cell.source for cell in found.cells] == [cell.source for cell in loaded(TWO).cells]
    assert found.flags == ("The file holds far more than a notebook; 2 cells that are still whole were taken from it.",)


@pytest.mark.parametrize(
    "text",
    [
        '{"id":' * 900 + "[" + "0," * 2_000_000,
        '"' + '{"id":"' * 20_000 + "x" * 4_000_000,
        "x" + '{"id":' * 500 + "[" + "0," * 2_000_000 + "0]" + "}" * 500,
        '{"id":[1,' + '{"id":' * 2000 + "9" * 4_000_000,
    ],
)
def test_the_search_for_whole_cells_reads_a_damaged_file_a_few_times_only(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    places: list[int] = []
    look = notebooks._object_at

    def looked(whole: str, start: int, stop: int) -> tuple[Any, int]:
        value, end = look(whole, start, stop)
        places.append(end - start)
        return value, end

    monkeypatch.setattr(notebooks, "_object_at", looked)
    assert load(text.encode()) is None
    assert sum(places) < 5 * len(text)


def test_plain_text_of_any_length_is_no_cell() -> None:
    assert load(b'answer("L03-01", 1)\n' * 10_000) is None


def test_nul_and_half_characters_are_replaced() -> None:
    assert loaded(b'{"cells":[{"cell_type":"code","source":"a\\u0000b\\ud800"}]}').cells[0].source == "a\ufffdb?"


@pytest.mark.parametrize(
    "data",
    [b"", b"{not json", b"[1, 2]", b"\x00\xff" * 50, b"[" * 200_000, b'{"cells": 3}', b"1e999999", b'"text"', b"9" * 6000],
)
def test_what_is_no_notebook_is_none(data: bytes) -> None:
    assert load(data) is None


def test_deep_nests_in_outputs_do_not_hide_the_cells() -> None:
    text = json.dumps(TWO).replace('"outputs": []', '"outputs": ' + "[" * 50_000 + "]" * 50_000, 1)
    assert TEXTS[1] in [cell.source for cell in loaded(text.encode()).cells]


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 600), st.integers(0, 600), st.binary(max_size=8))
def test_no_damage_to_a_file_raises(start: int, length: int, patch: bytes) -> None:
    data = json.dumps(TWO).encode()
    found = load(data[:start] + patch + data[start + length :])
    assert found is None or isinstance(found, Notebook)


def put(folder: Path, name: str, data: bytes | dict[str, Any]) -> None:
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data if isinstance(data, bytes) else json.dumps(data).encode())


def test_the_expected_file_counts_and_others_are_left_aside(tmp_path: Path) -> None:
    put(tmp_path, "A1.ipynb", notebook(TEXTS[0]))
    put(tmp_path, "A1 (1).ipynb", TWO)
    found = finding.find(tmp_path, "A1", ITEMS)
    assert (found.name, found.flags) == ("A1.ipynb", ("Left aside: 'A1 (1).ipynb'.",))


@pytest.mark.parametrize("name", ["A1 (1).ipynb", "a1.IPYNB", "my work/A1.ipynb", "x/y/z.ipynb", "A1.py", "A1.json"])
def test_a_renamed_file_is_found(tmp_path: Path, name: str) -> None:
    put(tmp_path, name, TWO)
    found = finding.find(tmp_path, "A1", ITEMS)
    assert found.name == name
    assert found.flags == (f"There is no usable A1.ipynb; the answers were taken from {name!r}.",)


def test_a_broken_expected_file_gives_way_to_a_sound_copy(tmp_path: Path) -> None:
    put(tmp_path, "A1.ipynb", b"{")
    put(tmp_path, "A1 (1).ipynb", TWO)
    assert finding.find(tmp_path, "A1", ITEMS).name == "A1 (1).ipynb"


def packed(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("_", "."), data)
    return out.getvalue()


def test_a_notebook_in_an_archive_in_an_archive_is_found(tmp_path: Path) -> None:
    inner = packed(A1_ipynb=json.dumps(TWO).encode())
    put(tmp_path, "work.zip", packed(inner_zip=inner))
    found = finding.find(tmp_path, "A1", ITEMS)
    assert found.name == "work.zip/inner.zip/A1.ipynb"
    assert [path.name for path in tmp_path.iterdir()] == ["work.zip"]


def test_an_archive_that_swells_is_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "LARGEST_FILE", 1 << 20)
    put(tmp_path, "work.zip", packed(A1_ipynb=b" " * (30 << 20)))
    assert finding.find(tmp_path, "A1", ITEMS).notebook is None


def test_of_two_files_of_one_name_in_an_archive_the_later_one_counts(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for book in (notebook(TEXTS[0]), TWO):
            archive.writestr("A1.ipynb", json.dumps(book))
    put(tmp_path, "work.zip", out.getvalue())
    found = finding.find(tmp_path, "A1", ITEMS).notebook
    assert found is not None
    assert [cell.source for cell in found.cells] == TEXTS


def test_an_archive_with_very_many_entries_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "MOST_ENTRIES", 3)
    book = json.dumps(TWO).encode()
    put(tmp_path, "work.zip", packed(A1_ipynb=book, b=b"", c=b""))
    assert finding.find(tmp_path, "A1", ITEMS).name == "work.zip/A1.ipynb"
    put(tmp_path, "work.zip", packed(A1_ipynb=book, b=b"", c=b"", d=b""))
    assert finding.find(tmp_path, "A1", ITEMS).reason == "The archive 'work.zip' has more than 3 entries and was not opened."


def test_an_archive_named_as_a_notebook_is_looked_into(tmp_path: Path) -> None:
    put(tmp_path, "A1.ipynb", packed(A1_ipynb=json.dumps(TWO).encode()))
    assert finding.find(tmp_path, "A1", ITEMS).notebook is not None


def test_links_and_pipes_are_not_followed(tmp_path: Path) -> None:
    put(tmp_path, "secret/key.ipynb", TWO)
    work = tmp_path / "work"
    work.mkdir()
    (work / "A1.ipynb").symlink_to(tmp_path / "secret" / "key.ipynb")
    (work / "more").symlink_to(tmp_path / "secret")
    os.mkfifo(work / "pipe.ipynb")
    found = finding.find(work, "A1", ITEMS)
    assert found.notebook is None
    assert found.flags == (
        "'A1.ipynb' is a link to another place and was not followed.",
        "'more' is a link to another place and was not followed.",
        "'pipe.ipynb' is not an ordinary file and was not read.",
    )


@pytest.mark.parametrize(
    ("name", "data", "reason"),
    [
        ("A1.ipynb", b"", "The file 'A1.ipynb' is empty."),
        ("A1.ipynb", b"{", "The file 'A1.ipynb' cannot be read as a notebook: it is damaged or something else."),
        ("photo.png", b"x", "The folder holds no notebook, only 'photo.png'."),
        ("work.zip", b"PK\x03\x04rubbish", "The archive 'work.zip' cannot be opened."),
    ],
)
def test_where_there_is_no_notebook_the_reason_is_said(tmp_path: Path, name: str, data: bytes, reason: str) -> None:
    put(tmp_path, name, data)
    assert finding.find(tmp_path, "A1", ITEMS).reason == reason


def test_whole_cells_of_any_length_are_saved_from_a_damaged_file() -> None:
    for length in (10, 16_300, 16_384, 40_000, 90_000):
        for source in ("x" * length, "\u0e01" * (length // 6), '"' * (length // 2)):
            text = json.dumps({**notebook(TEXTS[0], source), "cells": [*notebook(TEXTS[0], source)["cells"], code(TEXTS[1])]})
            found = loaded(text[:-3].encode())
            assert [cell.source for cell in found.cells] == [TEXTS[0], source, TEXTS[1]]


def test_a_fault_far_into_a_file_is_told_without_looking_at_all_before_it(monkeypatch: pytest.MonkeyPatch) -> None:
    lengths: list[int] = []

    class Noted(json.JSONDecoder):
        def raw_decode(self, text: str, at: int = 0) -> tuple[object, int]:
            lengths.append(len(text))
            return super().raw_decode(text, at)

    monkeypatch.setattr(notebooks, "_DECODER", Noted())
    assert notebooks.load((b'{"cell_type":"' + b"a" * 3000) * 3000) is None
    assert len(lengths) == 3000
    assert max(lengths) == notebooks.SHORT_PIECE
