"""The kernel that is loaded before a notebook asks for one: it becomes the same kernel as any other, and is never left behind."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest
from jupyter_client import AsyncKernelManager
from jupyter_client.provisioning import KernelProvisionerFactory

from gearkit.lesson.course import kernel_waiting
from gearkit.lesson.course.kernel_waiting import KernelWaiting

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kernels are loaded ahead where processes can be handed over")
PATIENCE = 60.0
WHERE = "import os, sys; print(os.getpid(), os.getcwd(), os.environ['JPY_SESSION_NAME'], 'GEARKIT_GONE' in os.environ)"


@pytest.fixture
def offered(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A process that waits, and Jupyter told of it."""
    monkeypatch.setattr(KernelProvisionerFactory, "provisioners", dict[str, EntryPoint]())
    monkeypatch.setattr(KernelWaiting, "_waiting", None)
    monkeypatch.setattr(kernel_waiting, "UNTIL_NEXT", PATIENCE)
    monkeypatch.setenv("GEARKIT_GONE", "1")
    KernelProvisionerFactory.clear_instance()
    KernelProvisionerFactory.instance(default_provisioner_name=kernel_waiting.NAME)
    kernel_waiting.offer()
    yield
    KernelWaiting.end()
    KernelProvisionerFactory.clear_instance()


def waiting() -> subprocess.Popen[bytes]:
    """The process that waits now."""
    process = KernelWaiting._waiting
    assert process is not None
    return process


async def said(kernel: AsyncKernelManager, code: str, meanwhile: Callable[[], object] | None = None) -> str:
    """What a cell prints, or the name of its error."""
    client = kernel.client()
    client.start_channels()
    try:
        await client.wait_for_ready(timeout=PATIENCE)
        client.execute(code)
        printed = ""
        while True:
            message = await client.get_iopub_msg(timeout=PATIENCE)
            if message["msg_type"] == "stream":
                printed += message["content"]["text"]
                if meanwhile is not None and "begun" in printed:
                    await kernel.interrupt_kernel()
            elif message["msg_type"] == "error":
                return str(message["content"]["ename"])
            elif message["msg_type"] == "status" and message["content"]["execution_state"] == "idle" and printed:
                return printed
    finally:
        client.stop_channels()


async def started(folder: Path) -> AsyncKernelManager:
    """A kernel for a notebook in a folder, as JupyterLab's server starts it."""
    kernel = AsyncKernelManager(kernel_name="python3")
    environment = {key: value for key, value in os.environ.items() if key != "GEARKIT_GONE"}
    await kernel.start_kernel(cwd=str(folder), env={**environment, "JPY_SESSION_NAME": "first.ipynb"})
    return kernel


def test_a_notebook_gets_the_process_that_waits_in_its_own_folder_and_environment(offered: None, tmp_path: Path) -> None:
    ahead = waiting()

    async def play() -> tuple[str, str, str]:
        kernel = await started(tmp_path)
        try:
            first = await said(kernel, WHERE)
            loaded = await said(
                kernel, "print('gearkit.lesson.workbook' in sys.modules, sorted(set(globals()) & {'main', 'kernelapp'}))"
            )
            stopped = await said(kernel, "print('begun', flush=True)\nwhile True: pass", meanwhile=ahead.poll)
        finally:
            await kernel.shutdown_kernel(now=True)
        return first, loaded, stopped

    first, loaded, stopped = asyncio.run(play())
    assert first.split(" ") == [str(ahead.pid), str(tmp_path), "first.ipynb", "False\n"]
    assert loaded == "True []\n"
    assert stopped == "KeyboardInterrupt"
    assert ahead.poll() is not None


def test_a_kernel_started_anew_is_a_new_one_and_so_is_that_of_a_second_notebook(offered: None, tmp_path: Path) -> None:
    ahead = waiting()

    async def play() -> tuple[str, str, str]:
        kernel = await started(tmp_path)
        try:
            first = await said(kernel, "import os, sys; mine = 1; print(os.getpid(), False)\nprint(sys.path, os.getcwd())")
            await kernel.restart_kernel(now=True)
            again = await said(kernel, "import os, sys; print(os.getpid(), 'mine' in globals())\nprint(sys.path, os.getcwd())")
            second = await started(tmp_path)
            try:
                other = await said(second, WHERE)
            finally:
                await second.shutdown_kernel(now=True)
        finally:
            await kernel.shutdown_kernel(now=True)
        return first, again, other

    first, again, other = asyncio.run(play())
    assert first.splitlines()[0] == f"{ahead.pid} False"
    # What it imports from is what a kernel that was started the usual way imports from.
    assert first.splitlines()[1:] == again.splitlines()[1:]
    assert again.split(" ")[0] != str(ahead.pid)
    assert again.splitlines()[0].endswith(" False")
    # Nobody waits yet: the usual way gives the same kernel.
    assert other.split(" ")[1:] == [str(tmp_path), "first.ipynb", "False\n"]


def test_a_process_that_died_while_it_waited_is_no_loss(offered: None, tmp_path: Path) -> None:
    ahead = waiting()
    ahead.kill()
    ahead.wait(PATIENCE)

    async def play() -> str:
        kernel = await started(tmp_path)
        try:
            return await said(kernel, WHERE)
        finally:
            await kernel.shutdown_kernel(now=True)

    assert asyncio.run(play()).split(" ")[1:] == [str(tmp_path), "first.ipynb", "False\n"]


def test_another_program_than_python_is_not_given_the_process(offered: None) -> None:
    for command in (
        ["ruby", "-m", "ipykernel_launcher", "-f", "file"],
        [sys.executable, "-m", "other", "-f", "file"],
        [sys.executable],
    ):
        assert KernelWaiting._taken(command, {}) is None
    assert waiting().poll() is None


def test_the_next_one_is_loaded_after_a_while(offered: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel_waiting, "UNTIL_NEXT", 0.1)
    ahead = waiting()

    async def play() -> None:
        kernel = await started(tmp_path)
        await asyncio.sleep(0.5)
        await kernel.shutdown_kernel(now=True)

    asyncio.run(play())
    assert waiting().pid != ahead.pid


def test_nobody_waits_on_when_the_server_is_gone(tmp_path: Path) -> None:
    server = subprocess.Popen(
        [sys.executable, "-c", "from gearkit.lesson.course import kernel_waiting as k; k.offer(); print(k.KernelWaiting._waiting.pid, flush=True); input()"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert server.stdout is not None
    pid = int(server.stdout.readline())
    assert Path(f"/proc/{pid}").exists() or sys.platform != "linux"
    server.kill()
    server.communicate(timeout=PATIENCE)
    give_up = time.monotonic() + PATIENCE
    while time.monotonic() < give_up:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            break
        if sys.platform == "linux" and Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z":
            break
        time.sleep(0.05)
    else:
        pytest.fail("the process waits on")


def test_the_server_ends_even_where_a_request_left_a_thread_behind() -> None:
    """As it did where it was stopped while it made the list of what a notebook can be exported as."""
    server = (
        "import queue, sys, threading, types\n"
        "stopped = types.ModuleType('jupyterlab.labapp')\n"
        "stopped.main = lambda: (threading.Thread(target=queue.Queue().get).start(), print('stopped', flush=True))\n"
        "sys.modules['jupyterlab.labapp'] = stopped\n"
        "from gearkit.lesson.course import lab\n"
        "lab.main([])\n"
    )
    ended = subprocess.run([sys.executable, "-c", server], capture_output=True, text=True, timeout=PATIENCE, check=False)
    assert (ended.returncode, ended.stdout) == (0, "stopped\n"), ended.stderr
