"""The warm shell gives the answers that a real Jupyter kernel gives, and a notebook that needs more gets a real one."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from IPython.core.inputtransformer2 import TransformerManager

from graders.book import record
from graders.book.record import MarkSheet
from graders.course.course import open_course
from graders.course.roster import Learner, Roster
from graders.demo import college, show
from graders.hand_out.hand_out import sheet_of
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.engines import cells
from graders.run.engines.engines import Engine, Engines
from graders.run.engines.shell import OnceParsed, Shell
from graders.run.read import kernel_needs
from graders.run.read.kernel_needs import needs_kernel
from graders.run.remote.remote_protocol import Ran
from graders.run.sandbox.layers import Limits
from tests.graders.classroom import Classroom, computed
from tests.graders.test_reading_and_running import TRAPS
from tests.hostile import code_cases
from tests.hostile.cases import ITEMS, Place

SETUP = (
    'from gearkit.lesson.answering import answer\nfrom gearkit.answers.symbols import symbols\n\nS, P, R = symbols("S P R")',
)
# Generous: what a busy machine makes slow, such as loading the library of plots, must not look like another answer.
LIMITS = Limits(cell_seconds=30.0, seconds=120.0)

# What a cell may look at in a notebook; each line answers with what it sees.
SAME = [
    "1 + 1\nanswer('a', _ if '_' in dir() else None)",
    "5 * 5",
    "answer('b', _)",
    "answer('c', len(Out) > 0)",
    "answer('d', _i1 == In[1])",
    "answer('e', __name__)",
    "answer('f', '__file__' in globals())",
    "1/0",
    "try:\n    1/0\nexcept ZeroDivisionError as fault:\n    answer('g', str(fault))",
    "x = (1 +",
    "%time answer('h', 3)",
    "%%time\nanswer('i', 4)",
    "%%capture seen\nprint('shown')",
    "answer('j', seen.stdout)",
    "%timeit -n1 -r1 answer('k', 5)",
    "import asyncio\nawait asyncio.sleep(0)\nanswer('l', 6)",
    "task = asyncio.ensure_future(asyncio.sleep(0.01, 9))",
    "answer('m', await task)",
    "answer('n', asyncio.get_running_loop() is not None)",
    "try:\n    asyncio.run(asyncio.sleep(0))\nexcept RuntimeError as fault:\n    answer('o', str(fault)[:40])",
    "import ipywidgets\ns = ipywidgets.IntSlider(value=3)\nanswer('p', s.value)",
    "seen = []\ns.observe(lambda change: seen.append(change['new']), 'value')\ns.value = 8\nanswer('q', seen)",
    "ipywidgets.interact(lambda k: answer('r', k), k=(0, 4))",
    "o = ipywidgets.Output()\nwith o:\n    print('in it')\nanswer('s', len(o.outputs))",
    "%matplotlib inline\nimport matplotlib.pyplot as plt\nplt.plot([1, 2]);\nanswer('t', len(plt.get_fignums()))",
    "answer('u', len(plt.get_fignums()))",
    "plt.plot([1, 2])\nawait asyncio.sleep(0)",
    "answer('u2', len(plt.get_fignums()))",
    "plt.plot([2, 1])\nplt.show()\nanswer('v', len(plt.get_fignums()))",
    "import threading\nr = []\nt = threading.Thread(target=lambda: r.append(1))\nt.start(); t.join()\nanswer('w', r)",
    "from concurrent.futures import ThreadPoolExecutor\nwith ThreadPoolExecutor(2) as pool:\n"
    "    answer('x', list(pool.map(abs, [-1, 2])))",
    "open('notes.txt', 'w').write('x')\nanswer('y', open('notes.txt').read())",
    "import warnings, logging\nwarnings.warn('careful')\nlogging.warning('careful')\nanswer('z', 1)",
    "import pickle\nclass K: pass\nanswer('aa', type(pickle.loads(pickle.dumps(K()))).__name__)",
    "import inspect\ndef f(): return 1\nanswer('bb', inspect.getsource(f))",
    "import sys\nanswer('cc', vars(sys.modules['__main__']).get('f') is f)",
    "f?",
    "from IPython.display import clear_output, display, HTML\nprint('gone')\nclear_output()\nanswer('dd', 1)",
    "h = display('a', display_id=True)\nh.update('b')\ndisplay(HTML('<b>x</b>'))\nanswer('ee', h is not None)",
    "class B:\n    def __repr__(self): raise ValueError('r')\nB()",
    "answer('ff', 'still runs')",
    "import decimal\ndecimal.getcontext().prec = 5",
    "answer('tt', str(decimal.Decimal(1)/3))",
    "import numpy as np\nold = np.seterr(divide='raise')",
    "answer('uu', np.geterr()['divide'])",
    "decimal.getcontext().prec = 7\nawait asyncio.sleep(0)",
    "answer('vv', str(decimal.Decimal(1)/3))",
    "async def more():\n    decimal.getcontext().prec = 9\ndecimal.getcontext().prec = 8",
    "answer('ww', str(decimal.Decimal(1)/3))",
    "await more()\nanswer('xx', str(decimal.Decimal(1)/3))",
    "try:\n    input('? ')\nexcept Exception:\n    answer('gg', 'refused')",
    "raise KeyboardInterrupt",
    "import sympy\nanswer('hh', sympy.Symbol('x')**2/2)",
    "sympy.init_printing()\nsympy.Symbol('x')",
    "import numpy as np\nanswer('ii', np.float64(0.1) + 0.2)",
    "answer('jj', R/S + 1)",
    "R = 7\nanswer('kk', R + 1)",
    "import os\nanswer('ll', os.getpid() > 0)",
    "%who",
    "a, b = 1, 2\nanswer('mm', f'{a}/{b}')",
    "sys.exit(3)",
    "answer('nn', 'after the exit')",
    "from dataclasses import dataclass\n@dataclass\nclass D:\n    n: int = 1\nanswer('oo', D())",
    "global q\nq = 3\nanswer('pp', q)",
    "get_ipython().run_line_magic('time', 'answer(\"qq\", 1)')",
    "%unknown_magic",
    "exec('answer(\"rr\", 2)')",
    "del answer",
    "answer('ss', 1)",
]
NEEDS = [
    ("listed = !echo one\nanswer('a', listed[0])", "one", "starts programs"),
    ("%%bash\necho two > told.txt", None, "starts programs"),
    (
        "import subprocess\nanswer('a', subprocess.run(['echo', 'three'], capture_output=True).stdout.decode())",
        "three",
        "starts programs",
    ),
    ("import os\nanswer('a', os.popen('echo four').read())", "four", "starts programs"),
    (
        "import os\nchild = os.fork()\nif child == 0:\n    os._exit(5)\nanswer('a', os.waitpid(child, 0)[1] >> 8)",
        "5",
        "starts other processes",
    ),
    ("answer('a', type(get_ipython().kernel).__name__)", "IPythonKernel", "speaks to its kernel"),
    ("import sys\nanswer('a', sys.stdout.fileno() > 0)", "True", "uses the descriptors of its streams"),
]


@pytest.fixture(scope="module")
def engines() -> Iterator[dict[Engine, Engines]]:
    found = {engine: Engines(LIMITS, engine=engine) for engine in Engine}
    yield found
    for one in found.values():
        one.close()


def answers(ran: Ran) -> dict[str, str]:
    return {item: parts["answer"] for frame in ran.run.frames for item, parts in frame.answers.items() if parts}


def test_the_warm_shell_answers_every_probe_as_a_kernel_does(engines: dict[Engine, Engines]) -> None:
    warm, kernel = (engines[one].run(SAME, SETUP) for one in (Engine.WARM, Engine.KERNEL))
    assert kernel.run.complete
    assert warm.run.complete
    assert answers(warm) == answers(kernel)
    assert len(answers(kernel)) > 35
    differ = {
        SAME[one.cell]
        for one, other in zip(warm.run.frames, kernel.run.frames, strict=True)
        if bool(one.fault) != bool(other.fault)
    }
    # A kernel counts a result that cannot be shown as an error of the cell; what the cell did stays done in both.
    assert differ == {cell for cell in SAME if "__repr__" in cell}


def test_what_plots_are_made_with_is_loaded_beforehand_only_for_notebooks_that_name_it(
    engines: dict[Engine, Engines],
) -> None:
    def loaded(*cells: str) -> str:
        # Names in two halves, so that asking for them is not naming them.
        asked = "import sys\nanswer('a', str([name in sys.modules for name in ('num' 'py', 'matplot' 'lib.pyplot')]))"
        return engines[Engine.WARM].run([asked, *cells], ()).run.frames[0].answers["a"]["answer"]

    assert loaded() == "[False, False]"
    assert loaded("%matplotlib inline") == "[True, True]"
    assert loaded("import numpy as np") == "[True, True]"
    assert loaded() == "[False, False]"


def test_no_probe_that_is_the_same_is_sent_to_a_kernel(engines: dict[Engine, Engines]) -> None:
    assert [cell for cell in SAME if needs_kernel([cell])] == []
    assert "kernel" not in engines[Engine.AUTO].run(SAME[:3], SETUP).level


@pytest.mark.parametrize(("cell", "told", "why"), NEEDS)
def test_what_only_a_kernel_does_is_run_in_one_by_itself_and_the_instructor_is_told(
    cell: str,
    told: str | None,
    why: str,
    engines: dict[Engine, Engines],
) -> None:
    ran = engines[Engine.AUTO].run([cell, "answer('end', 1)"], SETUP)
    assert answers(ran) == {**({"a": told} if told else {}), "end": "1"}
    assert ran.run.note == f"The notebook {why}, so it was run in a full Jupyter kernel."
    assert ran.level == "full, in a Jupyter kernel"
    refused = engines[Engine.WARM].run([cell, "answer('end', 1)"], SETUP)
    assert answers(refused) == {"end": "1"}
    assert "needs a full Jupyter kernel, and it was run without one" in refused.run.note


def test_where_no_kernel_can_be_walled_in_the_notebook_is_run_without_one(monkeypatch: pytest.MonkeyPatch) -> None:
    from graders.run.sandbox import select_sandbox

    possible = select_sandbox._possible
    monkeypatch.setattr(select_sandbox, "_possible", lambda engine: () if engine == "kernel" else possible(engine))
    found = Engines(LIMITS)
    try:
        ran = found.run(["!echo x", "answer('a', 1)"], SETUP)
    finally:
        found.close()
    assert answers(ran) == {"a": "1"}
    assert ran.run.note.endswith("it was run without one.")
    assert ran.level == "full"


@pytest.mark.parametrize(
    "text",
    [
        "answer('L03-02', 'system')",
        "x != 3",
        "# the kernel of it",
        "a = 3 != 4",
        "%time x",
        "answer('a', '!')",
        "import socket",
        "print('%s' % x)",
    ],
)
def test_ordinary_words_send_nothing_to_a_kernel(text: str) -> None:
    assert needs_kernel([text]) == ""


@given(st.data())
@settings(max_examples=300, deadline=None)
def test_what_a_pattern_finds_holds_one_of_its_words(data: st.DataObject) -> None:
    for pattern, words, told in kernel_needs._REASONS:
        source = data.draw(st.from_regex(pattern))
        assert any(word in source for word in words), source
        assert told in needs_kernel([source])


def a_shell() -> SimpleNamespace:
    """As much of a shell as translating needs."""
    manager = TransformerManager()
    shell = SimpleNamespace(
        input_transformer_manager=manager,
        input_transformers_post=[],
        transform_cell=manager.transform_cell,
        compile=OnceParsed(),
    )
    shell.transforms = partial(Shell.transforms, shell)
    shell.usual_transforms = shell.transforms()
    return shell


def sources() -> list[str]:
    found = [*SAME, *(cell for cell, _, _ in NEEDS), *TRAPS]
    for path in (Path(__file__).parents[2] / "lessons").rglob("*.ipynb"):
        found += ["".join(cell["source"]) for cell in json.loads(path.read_text())["cells"] if cell["cell_type"] == "code"]
    # Pieces of programs, cut anywhere: half of them are no Python any more.
    for path in sorted((Path(__file__).parents[2] / "graders").rglob("*.py"))[:40]:
        lines = path.read_text().splitlines()
        found += ["\n".join(lines[start : start + 1 + start % 9]) for start in range(0, len(lines), 7)]
    return found


def test_what_is_python_already_is_left_as_the_notebooks_own_translation_leaves_it() -> None:
    shell = a_shell()

    def outcome(translate: Callable[[str], str], source: str) -> str:
        try:
            return translate(source)
        except SyntaxError as fault:
            return str(fault)

    differ = [
        source
        for source in sources()
        if outcome(partial(cells.translated, shell), source) != outcome(shell.transform_cell, source)
    ]
    assert differ == []
    assert len(sources()) > 1000


def test_a_notebook_that_translates_more_by_itself_is_translated_by_it() -> None:
    shell = a_shell()
    shell.input_transformer_manager.cleanup_transforms.append(lambda lines: [line.replace("one", "1") for line in lines])
    assert cells.translated(shell, "x = one") == "x = 1\n"


HOSTILE = (
    "an endless loop",
    "os._exit",
    "a fork bomb",
    "a process that wants to live on",
    "every process is killed",
    "the secret is read",
    "a connection to this machine",
    "what was collected is forged",
    "an object that equals everything",
    "builtins are replaced",
    "one file that fills the disk",
    "a new user namespace",
)


def marks(sheet: MarkSheet) -> dict[str, list[tuple[str, float, str]]]:
    return {one.learner: [(item.item, item.score, item.verdict) for item in one.items] for one in sheet.learners}


def test_hostile_notebooks_earn_the_same_in_a_kernel_and_hurt_nobody(tmp_path: Path) -> None:
    cases = [case for case in code_cases.CASES if case.name in HOSTILE]
    assert len(cases) == len(HOSTILE)
    names = [f"{kind}{place:02d}" for place in range(len(cases)) for kind in ("h", "n")]
    room = Classroom(tmp_path, ",".join(ITEMS), "H1", roster=Roster(tuple(Learner(name, name) for name in names)))
    for place, case in enumerate(cases):
        room.hand_in(f"n{place:02d}", room.copy(f"n{place:02d}", computed))
        case.make(Place(room, f"h{place:02d}", f"n{place:02d}", 9))
    limits = Limits(cell_seconds=0.5, seconds=3.0)
    found = [
        batch.mark_sheet(room.course, room.sheet, workers=2, settings=Settings(engine=engine, limits=limits))
        for engine in ("warm", "kernel")
    ]
    assert marks(found[0]) == marks(found[1]), [(one.learner, one.flags) for one in found[1].learners]
    assert [one.learner for one in found[1].learners if one.learner.startswith("n") and one.score != one.max] == []
    assert found[1].sandbox == "full, in a Jupyter kernel"


@pytest.mark.slow
def test_the_demo_class_has_the_same_marks_in_a_kernel(tmp_path: Path) -> None:
    with (tmp_path / "out.txt").open("w") as out:
        outcome = show.run(tmp_path / "demo", "a seed of the engines' test", out)
    course = open_course(outcome.demo.course.folder)
    sheet = sheet_of(course, outcome.demo.sheet.name)
    before = marks(record.read(course.marks_file(sheet.name)))
    again = batch.mark_sheet(course, sheet, workers=2, settings=Settings(always_run=True, engine="kernel"))
    assert marks(again) == before
    assert len(before) == len(college.roster()) - len(again.absent)
    assert "in a Jupyter kernel" in again.sandbox
