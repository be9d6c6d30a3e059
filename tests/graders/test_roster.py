"""The class list."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.words.errors import UsageError
from graders.course import roster as rosters
from graders.course.roster import Learner, Roster

HEAD = "id,name,group\n"


def listed(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "class.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def test_names_with_commas_quotes_and_accents_are_kept(tmp_path: Path) -> None:
    path = listed(tmp_path, HEAD + 's1,"Ødegård, Kåre ""Kit""",D\ns2,李小龍,E\n')
    assert [one.name for one in rosters.read(path)] == ['Ødegård, Kåre "Kit"', "李小龍"]


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbfid,name,group\r\ns1,Zo\xc3\xab,D\r\n",
        "id;name;group\ns1;Zoë;D\n".encode(),
        "id\tname\tgroup\ns1\tZoë\tD\n".encode(),
        "ID, Name ,Group\n s1 , Zoë , D \n".encode(),
        "id,name,group\ns1,Zoë,D\n".encode("utf-16"),
        "\n\nid,name,group\n\ns1,Zoë,D\n,,\n".encode(),
        "group,mail,id,name\nD,z@c.example,s1,Zoë\n".encode(),
    ],
)
def test_the_forms_that_spreadsheets_save_give_the_same_list(tmp_path: Path, content: bytes) -> None:
    assert rosters.read(listed(tmp_path, content)).learners == (Learner("s1", "Zoë", "D"),)


def test_extra_time_is_optional_and_other_columns_are_ignored(tmp_path: Path) -> None:
    path = listed(tmp_path, "id,name,group,extra time,mail\ns1,A,D,25%,a@c.example\ns2,B,D,,\n")
    assert rosters.read(path).learners == (Learner("s1", "A", "D", 25), Learner("s2", "B", "D"))


def test_every_bad_row_is_reported_with_its_line(tmp_path: Path) -> None:
    path = listed(tmp_path, HEAD + 's1,"Two\nlines",D\ns2,Bo,Ek,D\n../x,Cy,D\ns3,,D\n,Di,D\ns4,Ed,D\ns4,Fy,D\nS4,Gus,D\n')
    with pytest.raises(UsageError, match="nothing was taken from it") as caught:
        rosters.read(path)
    for words in (
        r"line 2: name 'Two\nlines' holds a character that cannot be printed",
        "line 4: 4 cells, expected 3",
        "line 5: identity '../x' cannot name a folder",
        "line 6: the name is empty",
        "line 7: the identity is empty",
        "line 9: identity 's4' is already in line 8",
        "line 10: identity 'S4' is already in line 8 as 's4'",
    ):
        assert words in str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty; expected a first line with id, name, group"),
        (HEAD.encode(), "no learner follows the first line"),
        (b"id,name\ns1,A\n", "column 'group' is missing"),
        (b"s1,Ann Lee,D\n", "column 'id' is missing; column 'name' is missing"),
        (b"id,name,group,extratime\ns1,A,D,3\n", "column 'extratime' is not known; is 'extra_time' meant"),
        (b"id,id,name,group\na,b,c,d\n", "column 'id' is there twice"),
        (b"id,name,group\ns1,Zo\xeb,D\n", "line 2: a letter is not in UTF-8"),
        (b'id,name,group\ns1,"Zo,D\n', "line 2: unexpected end of data"),
        (b"id,name,group,extra_time\ns1,A,D,lots\n", "extra_time 'lots': expected percent from 0 to 400"),
        (b"id,name,group\ns1,A\x00B,D\n", "line 2"),
        (HEAD.encode() + b"s1," + b"x" * 300 + b",D\n", "name is 300 characters long"),
        ("id,name,group\nAgne\u0300s,A,D\n".encode(), "written with combined accents"),
    ],
)
def test_a_list_that_cannot_be_used_says_why(tmp_path: Path, content: bytes, words: str) -> None:
    with pytest.raises(UsageError) as caught:
        rosters.read(listed(tmp_path, content))
    assert words in str(caught.value)


def test_a_missing_list_is_named(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="There is no class list"):
        rosters.read(tmp_path / "none.csv")


def test_a_later_list_adds_and_corrects_but_drops_nobody() -> None:
    first = Roster((Learner("a", "Ann"), Learner("b", "Bo")))
    joined = first.joined_with(Roster((Learner("c", "Cy"), Learner("a", "Anne"))))
    assert joined.learners == (Learner("a", "Anne"), Learner("b", "Bo"), Learner("c", "Cy"))


letters = st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs"))
names = st.text(letters, min_size=1, max_size=20).map(str.strip)
texts = names.filter(lambda text: text != "" and text.isprintable())


@given(st.lists(texts, min_size=1, max_size=5))
def test_a_written_list_reads_back_the_same(tmp_path_factory: pytest.TempPathFactory, people: list[str]) -> None:
    roster = Roster(tuple(Learner(f"s{number}", name, "G", number) for number, name in enumerate(people)))
    path = tmp_path_factory.mktemp("list") / "class.csv"
    rosters.write(roster, path)
    assert rosters.read(path) == roster


def test_names_sort_as_english_does_letters_with_marks_beside_those_without() -> None:
    names = ["Zed", "Ødegård", "Olsen", "Łukasz", "Lund", "Élan", "Eck", "adams", "Æsir", "Ærø", "Afton"]
    assert sorted(names, key=rosters.by_name) == [
        *("adams", "Ærø", "Æsir", "Afton", "Eck", "Élan", "Łukasz", "Lund", "Ødegård", "Olsen", "Zed"),
    ]
