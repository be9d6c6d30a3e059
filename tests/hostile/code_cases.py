"""Wicked and unlucky code: what a cell can do to the run, to the machine, and to the answers."""

from __future__ import annotations

from tests.graders.classroom import call
from tests.hostile.cases import (
    ALL,
    LEAK,
    NOTHING,
    STRAY,
    A,
    B,
    C,
    Case,
    D,
    Place,
    checked,
    code_cell,
    only_code,
    with_code,
)

LONG = "ran too long"
STOPPED = "The run was stopped"
REACHED = "Code cells that reach for parts of the kit that hold answers"


def _leak(expression: str) -> str:
    """A cell that tries to hand in what it must not know."""
    return f'try:\n    answer("{D}", "{LEAK}" + str({expression})[:60])\nexcept BaseException:\n    pass'


def _tried(*lines: str) -> str:
    body = "\n    ".join(lines)
    return f"try:\n    {body}\nexcept Exception:\n    pass"


def _secret(place: Place) -> str:
    return _leak(f"open({str(place.room.course.folder / '.secret')!r}).read()") + "\n" + _right_last(place)


def _right_last(place: Place) -> str:
    """The right answer to the last item again, after a cell that tried to hand in something else."""
    from gearkit.answers.judge import marking

    return call(D, marking.right_answer(place.variants[D]))


def _gradebook(place: Place) -> str:
    path = str(place.room.course.folder / "gradebook.db")
    return _tried(
        "import sqlite3",
        f"book = sqlite3.connect({path!r})",
        "book.execute('update grade set extra_credit = 100')",
        "book.commit()",
    )


def _neighbour(place: Place) -> str:
    path = place.room.course.submitted_folder(place.neighbour, place.room.sheet.name) / f"{place.room.sheet.name}.ipynb"
    return _leak(f"open({str(path)!r}).read()") + "\n" + _right_last(place)


def _wreck(place: Place) -> str:
    return _tried("import shutil", f"shutil.rmtree({str(place.room.course.folder)!r}, ignore_errors=True)")


def _open_up(place: Place) -> str:
    folder = place.room.course.folder
    return "\n".join(
        _tried("import os", f"os.{change}")
        for path in (folder, folder / "gradebook.db", folder / ".secret")
        for change in (f"chmod({str(path)!r}, 0o777)", f"utime({str(path)!r}, (1, 1))")
    )


def _scribble(place: Place) -> str:
    folder = str(place.room.course.folder)
    return _tried(f"open({folder!r} + '/{STRAY}', 'w').write('x')") + "\n" + _tried(f"open('/tmp/{STRAY}', 'w').write('x')")


def _connect(place: Place) -> str:
    return _tried("import socket", f"socket.create_connection(('127.0.0.1', {place.port}), 1).send(b'x')")


def _datagram(place: Place) -> str:
    return _tried(
        "import socket", "s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)", f"s.sendto(b'x', ('127.0.0.1', {place.port}))"
    )


def _forged_frame(place: Place) -> str:
    return (
        "import os, json, struct\n"
        f"body = json.dumps({{'cell': 9, 'answers': {{'{A}': {{'answer': '1'}}}}, 'fault': '', 'last': True, "
        "'score': 99, 'verdict': 'right'}).encode()\n"
        "os.write(4, struct.pack('<I', len(body)) + body)"
    )


RUN = [
    Case("an endless loop", with_code("while True: pass"), flag=LONG),
    Case(
        "an endless loop that catches everything",
        with_code("while True:\n    try:\n        while True: pass\n    except BaseException: pass"),
    ),
    Case("a loop that never ends in C code", with_code("x = 10**9\ny = x ** (10**8)"), flag=LONG),
    Case("a long sleep", with_code("import time; time.sleep(1000)"), flag=LONG),
    Case(
        "a thread that never ends",
        with_code("import threading, time\nthreading.Thread(target=lambda: time.sleep(1000)).start()"),
    ),
    Case(
        "a thousand threads",
        with_code(
            _tried(
                "import threading, time", "for _ in range(1000):", "    threading.Thread(target=time.sleep, args=(9,)).start()"
            )
        ),
    ),
    Case("a task that is waited for for ever", with_code("import asyncio\nawait asyncio.Event().wait()"), flag=LONG),
    Case("the event loop is stopped", with_code("import asyncio\nasyncio.get_running_loop().stop()\nx = 1")),
    Case("the event loop is closed", with_code("import asyncio\nasyncio.get_event_loop().close()")),
    Case(
        "the alarm is switched off",
        with_code(
            "import signal\nsignal.signal(signal.SIGALRM, signal.SIG_IGN)\nsignal.setitimer(signal.ITIMER_REAL, 0)\n"
            "while True: pass"
        ),
        flag=STOPPED,
    ),
    Case("a list that eats all memory", with_code("x = []\nwhile True: x.append(' ' * 10**7)"), flag=""),
    Case("bytes that double until memory ends", with_code("x = b'x'\nwhile True: x += x")),
    Case("a fork bomb", with_code("import os\nfor _ in range(200):\n    os.fork()")),
    Case(
        "a process that wants to live on",
        with_code(
            _tried(
                "import os, time",
                "if os.fork() == 0:",
                "    os.setsid()",
                f"    open('/tmp/{STRAY}', 'w').write('x')",
                "    time.sleep(600)",
            )
        ),
    ),
    Case("one file that fills the disk", with_code(_tried("f = open('big', 'wb')", "while True: f.write(b'x' * 2**20)"))),
    Case(
        "many files that fill the disk",
        with_code(_tried("for n in range(100000):", "    open(f'f{n}', 'wb').write(b'x' * 2**16)")),
    ),
    Case("a flood of print", with_code("for _ in range(2000): print('x' * 10000)")),
    Case("a flood on the error stream", with_code("import sys\nfor _ in range(2000): sys.stderr.write('x' * 10000)")),
    Case(
        "a flood of displays",
        with_code("from IPython.display import HTML, display\nfor _ in range(500): display(HTML('x' * 10000))"),
    ),
    Case("a flood on descriptor 1", with_code("import os\nfor _ in range(200): os.write(1, b'x' * 10**6)")),
    Case("a flood on the reply", with_code("import os\nwhile True: os.write(4, b'\\0' * 65536)"), flag=STOPPED),
    Case("the reply is closed", with_code("import os\nos.closerange(0, 64)"), flag=STOPPED),
    Case("the reply goes elsewhere", with_code("import os\nos.dup2(os.open('/dev/null', os.O_WRONLY), 4)"), flag=STOPPED),
    Case("a forged frame that names a score", with_code(_forged_frame), earns=ALL - {A}),
    Case("a frame with a huge length", with_code("import os\nos.write(4, b'\\xff\\xff\\xff\\x7f{')"), flag=STOPPED),
    Case(
        "a frame that is nested very deep",
        with_code("import os, struct\nb = b'[' * 300000\nos.write(4, struct.pack('<I', len(b)) + b)"),
        flag=STOPPED,
    ),
    Case("os._exit", with_code("import os; os._exit(0)"), flag=STOPPED),
    Case("sys.exit", with_code("import sys; sys.exit(3)")),
    Case("quit", with_code("quit()")),
    Case("a segmentation fault", with_code("import ctypes; ctypes.string_at(0)"), flag=STOPPED),
    Case("abort", with_code("import os; os.abort()"), flag=STOPPED),
    Case("a stack overflow", with_code("import sys\nsys.setrecursionlimit(10**9)\ndef f(n): return f(n + 1)\nf(0)")),
    Case("a wrong step that raises", with_code("1 / 0")),
    Case("an interrupt from the keyboard", with_code("raise KeyboardInterrupt")),
    Case("input is asked for", with_code("name = input('name? ')")),
    Case("a password is asked for", with_code("import getpass\ngetpass.getpass()")),
    Case("a breakpoint", with_code("breakpoint()")),
    Case("a warning beside right answers", with_code("import warnings; warnings.warn('careful')")),
    Case(
        "widgets without a browser", with_code("import ipywidgets\ns = ipywidgets.IntSlider(value=3)\ns.value = 4\ndisplay(s)")
    ),
]

_FRAME = "import os, json, struct\nbody = json.dumps({'cell': 3, 'answers': {}, 'fault': '', 'last': True}).encode()\n"
# The word that the run's end must carry lies in the memory of the process that the code shares with the runner.
_DUG_OUT = """import gc, json, os, struct
for job in gc.get_objects():
    if isinstance(job, dict) and {"cells", "setup", "end"} <= job.keys():
        for cell in range(len(job["cells"]) + 1):
            last = cell == len(job["cells"])
            frame = {"cell": cell, "answers": {}, "fault": "", "last": last, "end": job["end"] if last else ""}
            body = json.dumps(frame).encode()
            os.write(4, struct.pack("<I", len(body)) + body)
        break
else:
    raise LookupError
"""


def _just_in_time(place: Place) -> None:
    book = place.book()
    book["cells"] += [code_cell(f"import time; time.sleep(0.4)  # {number}") for number in range(20)]
    place.hand_in(book)


BEHIND = [
    Case(
        "a forged end of the notebook",
        with_code(_FRAME + "os.write(4, struct.pack('<I', len(body)) + body)\nos._exit(0)"),
        flag="its code ended the run",
    ),
    Case(
        "forged frames for every cell, and then the end",
        with_code(
            "import os, json, struct\nfor cell in range(40):\n"
            "    body = json.dumps({'cell': cell, 'answers': {}, 'fault': '', 'last': cell == 39}).encode()\n"
            "    os.write(4, struct.pack('<I', len(body)) + body)\nos._exit(0)"
        ),
        flag=STOPPED,
    ),
    Case(
        "a forged end with the word that was dug out",
        with_code(_DUG_OUT + "os._exit(0)"),
        flag="stand plainly in its cells",
    ),
    Case(
        "a forged end with the word that was dug out, and no end",
        with_code(_DUG_OUT + "import signal\nsignal.signal(signal.SIGALRM, signal.SIG_IGN)\nwhile True: pass"),
        flag="longer than allowed",
    ),
    Case(
        "a forged end with the word that was dug out, and a crash",
        with_code(_DUG_OUT + "import ctypes\nctypes.string_at(0)"),
        flag=STOPPED,
    ),
    Case("an end that lies about its reason", with_code("import os; os._exit(71)"), flag=STOPPED),
    Case("cells that each end just in time", _just_in_time, flag="longer than allowed"),
    Case(
        "a task that spins beside the next cells",
        with_code(
            "import asyncio\nasync def spin():\n    while True: await asyncio.sleep(0)\nheld = asyncio.ensure_future(spin())"
        ),
    ),
    Case(
        "ten thousand tasks that wait",
        with_code("import asyncio\nheld = [asyncio.ensure_future(asyncio.sleep(99)) for _ in range(10_000)]"),
    ),
    Case("a cell that is cancelled", with_code("import asyncio\nraise asyncio.CancelledError")),
    Case(
        "an object whose end never ends",
        with_code("class Bad:\n    def __del__(self):\n        while True: pass\nheld = Bad(); del held"),
    ),
    Case(
        "an object that shows itself with a gigabyte",
        with_code("class Bad:\n    def __repr__(self): return 'x' * 2**30\nBad()"),
    ),
    Case("clearing up that sleeps", with_code("import gc, time\ngc.callbacks.append(lambda *a: time.sleep(0.1))")),
    Case(
        "memory to the brim and then the answer",
        with_code(
            lambda p: (
                "held = []\ntry:\n    while True: held.append(bytearray(2**22))\nexcept MemoryError: pass\n" + _right_last(p)
            )
        ),
    ),
    Case(
        "all signals blocked",
        with_code("import signal\nsignal.pthread_sigmask(signal.SIG_BLOCK, signal.valid_signals())\nwhile True: pass"),
        flag=STOPPED,
    ),
    Case("a storm of alarms", with_code("import signal\nsignal.setitimer(signal.ITIMER_REAL, 0.001, 0.001)")),
    Case("one is made zero", with_code("import ctypes\nctypes.memmove(id(1) + 24, id(0) + 24, 4)"), flag=STOPPED),
    Case("all names are forgotten", with_code("%reset -f")),
    Case("a debugger after every fault", with_code("%pdb on\n1 / 0")),
    Case("warnings are faults", with_code("import warnings; warnings.simplefilter('error')")),
    Case("a widget that loops", with_code("import ipywidgets\n@ipywidgets.interact(x=3)\ndef loop(x):\n    while True: pass")),
    Case(
        "every later cell is rewritten",
        with_code("get_ipython().input_transformers_cleanup.append(lambda lines: ['pass\\n'])"),
        flag="stand plainly in its cells",
    ),
    Case(
        "a sheet of answers without end",
        with_code(
            "import itertools\nfrom gearkit.lesson import answering\nclass Endless(dict):\n"
            "    def items(self): return ((str(n), {}) for n in itertools.count())\nanswering._SHEET._given = Endless()"
        ),
    ),
    Case("hardly any recursion", with_code("import sys; sys.setrecursionlimit(80)")),
    Case("everything built in is taken away", with_code("import builtins; vars(builtins).clear()"), flag=STOPPED),
    Case("a hook on everything", with_code("import sys\ndef hook(*a): raise RuntimeError\nsys.addaudithook(hook)")),
]

MACHINE = [
    Case("the parent is killed", with_code(_tried("import os, signal", "os.kill(os.getppid(), signal.SIGKILL)"))),
    Case("every process is killed", with_code(_tried("import os, signal", "os.kill(-1, signal.SIGKILL)"))),
    Case("the own group is killed", with_code(_tried("import os, signal", "os.killpg(0, signal.SIGSTOP)"))),
    Case(
        "the parent is attached to as by a debugger",
        with_code(_tried("import ctypes, os", "ctypes.CDLL(None).ptrace(16, os.getppid(), 0, 0)")),
    ),
    Case("the secret is read", with_code(_secret)),
    Case("the gradebook is written", with_code(_gradebook)),
    Case("a neighbour's work is read", with_code(_neighbour)),
    Case("the course is deleted", with_code(_wreck)),
    Case("the rights of the course are changed", with_code(_open_up)),
    Case("files are left behind", with_code(_scribble)),
    Case(
        "the environment is read",
        with_code(lambda p: _leak("''.join(__import__('os').environ.values()) or 1/0") + "\n" + _right_last(p)),
    ),
    Case(
        "the environment is read through proc",
        with_code(
            lambda p: _leak("open('/proc/self/environ').read() + open('/proc/1/environ').read()") + "\n" + _right_last(p)
        ),
    ),
    Case("the users of the machine are read", with_code(lambda p: _leak("open('/etc/passwd').read()") + "\n" + _right_last(p))),
    Case("a connection to this machine", with_code(_connect)),
    Case("a datagram to this machine", with_code(_datagram)),
    Case(
        "an abstract socket",
        with_code(_tried("import socket", "s = socket.socket(socket.AF_UNIX)", f"s.bind('\\0{STRAY}')", "s.listen()")),
    ),
    Case(
        "something from the network",
        with_code(_tried("import urllib.request", "urllib.request.urlopen('http://192.0.2.1/', timeout=1).read()")),
    ),
    Case("a program is started", with_code(_tried("import subprocess", f"subprocess.run(['touch', '/tmp/{STRAY}'])"))),
    Case("a program is started by a shell", with_code(_tried("import os", f"os.system('touch /tmp/{STRAY}')"))),
    Case(
        "a pool of processes",
        with_code(_tried("import multiprocessing", "multiprocessing.get_context('fork').Process(target=print).start()")),
    ),
    Case("an exclamation mark", with_code(f"!touch /tmp/{STRAY}")),
    Case("a cell of shell", with_code(f"%%bash\ntouch /tmp/{STRAY}")),
    Case("a package is installed", with_code("%pip install nothing-at-all")),
    Case("a file is run by a magic", with_code(f"%run /tmp/{STRAY}.py")),
    Case("the root is changed", with_code(_tried("import os", "os.chroot('/tmp')"))),
    Case(
        "something is mounted",
        with_code(_tried("import ctypes", "ctypes.CDLL(None).mount(b'none', b'/tmp', b'tmpfs', 0, None)")),
    ),
    Case("a new user namespace", with_code(_tried("import ctypes", "ctypes.CDLL(None).unshare(0x10000000)"))),
    Case(
        "the limits are raised",
        with_code(_tried("import resource", "resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY,) * 2)")),
    ),
    Case(
        "the memory is searched for others' work",
        with_code(
            "import gc\nhits = [text for held in gc.get_objects() if isinstance(held, (list, tuple, dict))\n"
            "        for text in (held.values() if isinstance(held, dict) else held)\n"
            f"        if isinstance(text, str) and text.startswith('texts = ')]\nif hits: answer('{D}', '{LEAK}' + hits[0])"
        ),
    ),
    Case(
        "every descriptor is written to",
        with_code(
            "import os\nfor number in range(3, 64):\n    try: os.write(number, b'{\"ready\": true}')\n    except OSError: pass"
        ),
        flag=STOPPED,
    ),
    Case("the process stops itself", with_code(_tried("import signal", "signal.raise_signal(signal.SIGSTOP)"))),
    Case(
        "a module is left for the next one",
        with_code(
            _tried(
                "open('sitecustomize.py', 'w').write('raise SystemExit')",
                "open('sympy.py', 'w').write('1/0')",
                "open('/tmp/sympy.py', 'w').write('1/0')",
            )
        ),
    ),
    Case(
        "a program in memory is started",
        with_code(
            _tried("import os", "fd = os.memfd_create('x')", "os.write(fd, b'#!/bin/sh\\n')", "os.execve(fd, ['x'], {})")
        ),
    ),
]

PATCHES = [
    Case(
        "the kit is asked for the right answers",
        only_code(
            "from gearkit.answers import items; from gearkit.answers.judge import marking; from gearkit.answers.draw_numbers import variants\n"
            "drawn = variants.draw(items.find('L03-02'), secret=b'guessed' * 5, sheet='H1', learner='h000')\n"
            f"answer('{A}', marking.right_answer(drawn))"
        ),
        earns=NOTHING,
        flag=REACHED,
    ),
    Case(
        "the bank is asked by a name that is put together",
        only_code(
            f"bank = __import__('gearkit.answers.' + 'it' + 'ems', fromlist=['x'])\nanswer('{A}', str(bank.find('{A}').answer))"
        ),
        earns=NOTHING,
        flag=REACHED,
    ),
    Case("the bank is asked in secret", with_code(_tried("__import__('gear' + 'kit.answers.' + 'bank')")), flag=REACHED),
    Case(
        "an exercise of a lesson is left in",
        with_code(f"import gearkit\ngearkit.open_lesson(3).exercise('{A}')"),
        flag="Code cells that call a lesson",
    ),
    Case(
        "the secret is searched for in the process",
        only_code(
            "import gc, sys\nheld = [o for o in gc.get_objects() if type(o).__name__ in ('Course', 'Variant', 'Key')]\n"
            f"if held or 'graders.mark' in sys.modules: answer('{A}', '{LEAK}' + repr(held)[:60])"
        ),
        earns=NOTHING,
    ),
    Case("answer in letters that look alike", only_code(f"\u0430nswer = print\n\u0430nswer('{A}', 1)"), earns=NOTHING),
    Case("builtins are replaced", with_code("import builtins\nbuiltins.str = builtins.len = lambda *a: 1/0")),
    Case("json is replaced", with_code("import json\njson.dumps = lambda *a, **k: '{}'"), flag=""),
    Case(
        "what was collected is forged",
        only_code("from gearkit.lesson import answering\nanswering.collected = lambda: {'L03-02': {'score': 2, 'answer': 7}}"),
        earns=NOTHING,
    ),
    Case(
        "collecting raises",
        with_code("from gearkit.lesson import answering\ndef f(): raise SystemExit\nanswering.collected = f"),
        earns=ALL,
    ),
    Case(
        "marking is replaced",
        only_code(
            "from gearkit.answers.judge import marking; from gearkit.answers.comparison import compare\nmarking.mark = lambda *a: True\n"
            f"answer('{A}', 'anything')"
        ),
        earns=NOTHING,
    ),
    Case(
        "an object that equals everything",
        only_code(
            "class Any:\n    def __eq__(self, o): return True\n    def __str__(self): return self\n"
            f"    __hash__ = None\nanswer('{A}', Any())"
        ),
        earns=NOTHING,
    ),
    Case(
        "an object whose text never ends",
        with_code(f"class Long:\n    def __str__(self):\n        while True: pass\nanswer('{A}', Long())"),
        flag=LONG,
    ),
    Case(
        "an object whose text raises",
        with_code(f"class Bad:\n    def __str__(self): raise MemoryError\nanswer('{D}', Bad())"),
        earns=ALL,
    ),
    Case(
        "a text with methods of its own",
        only_code(
            f"class T(str):\n    def split(self, *a): return T('9')\n    def __len__(self): return 1\nanswer('{A}', T('x'))"
        ),
        earns=NOTHING,
    ),
    Case("answer is defined anew", only_code(f"def answer(*a, **k): return 'right'\nanswer('{A}', 1)"), earns=NOTHING),
    Case("the modules are emptied", with_code("import sys\nsys.modules.clear()"), flag=""),
    Case("no module can be imported any more", with_code("import sys\nsys.meta_path.clear(); sys.path.clear()")),
    Case("the streams are taken away", with_code("import sys\nsys.stdout = sys.stderr = None")),
    Case(
        "whole numbers print as full marks",
        with_code("get_ipython().display_formatter.formatters['text/plain'].for_type(int, lambda n, p, c: p.text('40'))\n7"),
    ),
    Case("the shell is broken", with_code("ip = get_ipython()\nip.run_cell = ip.run_cell_async = None"), flag=""),
    Case(
        "hooks on every cell", with_code("def boom(*a): raise SystemExit\nget_ipython().events.register('pre_run_cell', boom)")
    ),
    Case("a tracer on every line", with_code("import sys\nsys.settrace(lambda *a: 1/0)")),
    Case("an exit function that loops", with_code("import atexit\natexit.register(lambda: [0 for _ in iter(int, 1)])")),
]

_TEXTS = {
    "a text that would start a program": "__import__('os').system('touch /tmp/" + STRAY + "')",
    "a power tower": "9**9**9**9**9",
    "thousands of minus signs": "-" * 1900 + "1",
    "deep brackets": "(" * 390 + "1",
    "not a number": "nan",
    "infinity": "1e999",
    "a very long number": "9" * 399,
    "a division by zero": "1/0",
    "control characters": "19\x1b[2J/6\x07",
    "letters that run backwards": "19/6\u202e6/91",
    "a text of a page of HTML": "<script>alert(1)</script>",
    "a spreadsheet formula": "=cmd|' /C calc'!A0",
    "a regular expression that explodes": "a" * 60 + "!",
    "nothing but blanks": " \t\n ",
    "an emoji": "🦓",
    "a text in curly braces": "{0.__class__}",
    "a percent sign": "%s%s%s%n",
    "a huge exponent": "10**999999999",
    "a comma with two meanings": "3,200",
    "a backslash at the end": "1/2\\",
    "very many decimals": "0." + "3" * 380,
}
TEXTS = [Case(f"as answer {name}", only_code(f"answer({A!r}, {text!r})"), earns=NOTHING) for name, text in _TEXTS.items()]

SIZES = [
    Case("a sum of forty thousand terms", with_code(f"answer('Q', {'1+' * 40_000}1)")),
    Case("ninety thousand minus signs", with_code(f"answer('Q', {'-' * 90_000}1)")),
    Case("ninety thousand brackets", with_code("(" * 90_000)),
    Case("a number of ninety thousand digits", with_code("x = " + "9" * 90_000)),
    Case(
        "a hundred thousand answers to one item",
        with_code(f"for _ in range(100_000): answer('{D}', '0')"),
        earns=ALL,
        flag="answered more than once",
    ),
    Case("an answer of ten megabytes", only_code(f"answer('{D}', 'x' * 10**7)"), earns=NOTHING),
    Case("an answer with very many parts", only_code(f"answer('{D}', {{str(n): 'x' for n in range(10**5)}})"), earns=NOTHING),
    Case(
        "answers to very many items",
        with_code("for n in range(20000): answer(f'Q{n}', 'x')"),
        flag="items that this sheet does not have",
    ),
    Case("parts that are not words", with_code(f"answer('{D}', {{1: 2, None: 3, (1, 2): 4}})"), flag="more than once"),
    Case("a part too many", only_code(f"answer('{C}', answer='1', score='3')\nanswer('{B}', extra='2')"), earns=NOTHING),
    Case("a list in a list in a list", only_code(f"x = []\nx.append(x)\nanswer('{A}', x)"), earns=NOTHING),
]


def _limit(kind: int, most: int) -> str:
    """A cell that lowers a limit of its own process by the older call, which nobody needs and nobody filters."""
    return f"import ctypes\nmost = (ctypes.c_ulong * 2)({most}, {most})\nctypes.CDLL(None).syscall(160, {kind}, most)"


ENDS = [
    Case("the own process is killed", with_code("import os; os.kill(os.getpid(), 9)")),
    Case(
        "the own thread is stopped",
        with_code("import signal, threading; signal.pthread_kill(threading.get_ident(), signal.SIGSTOP)"),
    ),
    # On a busy machine our own limit of time can come first.
    Case(
        "processor time that is given up",
        with_code(_limit(0, 1) + "\nimport signal\nsignal.setitimer(signal.ITIMER_REAL, 0)\nwhile True: pass"),
        flag=STOPPED,
    ),
    Case("memory that is given up", with_code(_limit(9, 1))),
    Case("files that are given up", with_code(_limit(7, 0))),
    Case(
        "an alarm of another kind",
        with_code("import signal\nsignal.setitimer(signal.ITIMER_PROF, 0.01, 0.01)\nfor _ in range(10**7): pass"),
    ),
    Case(
        "a dump that ends the program",
        with_code(
            "import faulthandler as f, time\nf.dump_traceback_later(0.1, exit=True, file=open('x', 'w'))\ntime.sleep(0.3)"
        ),
        flag=STOPPED,
    ),
    Case(
        "a file that shrinks under its map",
        with_code(
            "import mmap\nf = open('m', 'w+b'); f.truncate(8192)\nm = mmap.mmap(f.fileno(), 8192)\nf.truncate(0)\nm[4096]"
        ),
        flag=STOPPED,
    ),
    Case(
        "a thread that lets no other in",
        with_code(
            "import sys, threading\nsys.setswitchinterval(1e6)\ndef spin():\n    while True: pass\n"
            "threading.Thread(target=spin, daemon=True).start()"
        ),
        flag=STOPPED,
    ),
    Case("another program in its place", with_code("import os\nos.execv('/bin/sleep', ['sleep', '100'])")),
    Case(
        "an end that the loop calls later",
        with_code("import asyncio, os\nasyncio.get_running_loop().call_soon(os._exit, 0)"),
        flag=STOPPED,
    ),
    Case(
        "an end after every cell",
        with_code("import os\nget_ipython().events.register('post_run_cell', lambda *a: os._exit(0))"),
        flag=STOPPED,
    ),
]

AROUND = [
    Case(
        "no task can be made any more",
        with_code("import asyncio\nasyncio.get_running_loop().set_task_factory(lambda loop, coro, **k: 1/0)"),
    ),
    Case("a translator that loops", with_code("def loop():\n    while True: pass\nget_ipython().transforms = loop")),
    Case(
        "a reader of trees that loops",
        with_code(
            "import ast\nclass T(ast.NodeTransformer):\n    def visit(self, n):\n        while True: pass\n"
            "get_ipython().ast_transformers.append(T())"
        ),
        flag=LONG,
    ),
    Case(
        "a thread that answers without end",
        with_code(
            "import itertools, threading\ndef race():\n    for n in itertools.count(): answer(f'Q{n % 5000}', n)\n"
            "threading.Thread(target=race, daemon=True).start()"
        ),
        flag="items that this sheet does not have",
    ),
    Case(
        "a reply that refuses to wait",
        with_code(
            "import fcntl, os\ntry:\n    fcntl.fcntl(4, fcntl.F_SETFL, os.O_NONBLOCK)\n    fcntl.fcntl(4, 1031, 4096)\nexcept OSError:\n    pass"
        ),
    ),
    Case("every earlier cell once more", with_code("%rerun 1-99")),
    Case("calls without brackets", with_code("%autocall 2")),
    Case("another meaning of unequal", with_code("from __future__ import barry_as_FLUFL")),
    Case("a sum that doubles sixty times", with_code("x = R\nfor _ in range(60): x = x + x")),
    Case(
        "an exception whose text never ends",
        with_code("class E(Exception):\n    def __str__(self):\n        while True: pass\nraise E"),
        flag=LONG,
    ),
    Case(
        "an exception whose kind has no name",
        with_code(
            "class M(type):\n    @property\n    def __name__(cls): raise SystemExit\nclass E(Exception, metaclass=M): pass\nraise E"
        ),
    ),
    Case(
        "an answer whose parts never end",
        with_code(f"class E(dict):\n    def items(self):\n        while True: yield 'a', 'b'\nanswer('{D}', E(a=1))"),
        flag=LONG,
    ),
    Case(
        "a folder that is gone",
        with_code("import os\nos.makedirs('a/b'); os.chdir('a/b'); os.rmdir('../b'); os.rmdir('../../a')"),
    ),
    Case("arithmetic of one digit", with_code("import decimal\ndecimal.getcontext().prec = 1")),
]

CASES = checked(RUN + BEHIND + ENDS + AROUND + MACHINE + PATCHES + TEXTS + SIZES)
