"""Workers can be ended: one clear error, and the next request is answered."""

import asyncio
import json
import os
import signal

import pytest

from pretreat.page.settings import Settings
from pretreat.page.task import Sent, Task
from pretreat.page.workers.pool import Pool, leftover_folders
from tests.page.conftest import ROOT, alike, form_of

FORM = form_of("drover_flat")
NAME, CONTENT = FORM["files"][0][1]
SIZE = Task("size", {"site": (FORM["data"]["site"],)}, (Sent("report", NAME, CONTENT),))
CURVE = Task("view_curve", SIZE.fields, SIZE.files)


def _size(draws):
    """Another size than the one that the worker remembers."""
    return Task("size", {**SIZE.fields, "draws": (str(draws),)}, SIZE.files)


def _with_pool(settings, work):
    async def run():
        pool = Pool(settings)
        try:
            return await work(pool)
        finally:
            await pool.close()

    found = asyncio.run(run())
    assert leftover_folders() == []
    return found


def test_a_worker_killed_in_mid_run_costs_one_error():
    async def work(pool):
        first = await pool.run(SIZE)
        running = asyncio.create_task(pool.run(_size(2048)))
        await asyncio.sleep(0.1)
        (worker,) = pool.workers
        os.kill(worker.process.pid, signal.SIGKILL)
        return first, await running, await pool.run(SIZE)

    first, second, third = _with_pool(Settings(workers=1), work)
    assert (first.outcome, second.outcome, third.outcome) == ("done", "ended", "done")
    assert alike(json.loads(third.content), json.loads(first.content))
    assert len(second.faults) == 1


def test_a_computation_that_takes_too_long_is_ended():
    async def work(pool):
        return await pool.run(SIZE), await pool.run(
            Task("check", {}, (Sent("report", NAME, CONTENT),))
        )

    slow, _ = _with_pool(Settings(workers=1, seconds=0.05), work)
    assert slow.outcome == "ended"
    assert "took longer" in slow.faults[0]


def test_what_is_soon_done_waits_behind_no_whole_run():
    async def work(pool):
        await pool.run(SIZE)
        await pool.run(CURVE)
        running = asyncio.create_task(pool.run(_size(2048)))
        await asyncio.sleep(0.05)
        curve = await pool.run(CURVE)
        return curve, running.done(), await running

    curve, done, whole = _with_pool(Settings(workers=1), work)
    assert (curve.outcome, done, whole.outcome) == ("done", False, "done")


def test_a_study_asked_for_again_is_remembered():
    async def work(pool):
        first, clock = await pool.run(SIZE), asyncio.get_running_loop().time
        begun = clock()
        again = await pool.run(SIZE)
        took = clock() - begun
        other = await pool.run(_size(64))
        return first, again, other, took

    first, again, other, took = _with_pool(Settings(workers=1), work)
    assert again.content == first.content
    assert other.content != first.content
    assert took < 1.0


def test_those_who_wait_too_long_are_told():
    async def work(pool):
        running = asyncio.create_task(pool.run(SIZE))
        await asyncio.sleep(0.01)
        told = await pool.run(SIZE)
        return told, await running

    told, running = _with_pool(Settings(workers=1, waiting_seconds=0.05), work)
    assert (told.outcome, running.outcome) == ("busy", "done")


def test_memory_is_bounded():
    pytest.importorskip("resource")
    rows = b"Calcium,80,mg/L\n" + b",".join(b"1" for _ in range(1000)) + b"\n"
    report = Sent("report", "r.csv", rows * 4000)

    async def work(pool):
        return await pool.run(Task("check", {}, (report,))), await pool.run(SIZE)

    large, after = _with_pool(Settings(workers=1, megabytes=700), work)
    assert large.outcome in {"ended", "fault"}
    assert after.outcome == "done"


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("import socket; socket.create_connection(('192.0.2.1', 80), 0.1)", "not allowed"),
        ("import subprocess; subprocess.run(['true'])", "not allowed"),
        ("import os; os.system('true')", "not allowed"),
        ("open('/etc/hostname')", "only files that were sent along"),
        ("open('/tmp/outside.txt', 'w')", "only files that were sent along"),
        ("open('../../etc/hostname')", "only files that were sent along"),
    ],
)
def test_the_fence_of_a_worker(tmp_path, code, said):
    import subprocess
    import sys

    text = (
        "import sys, os\nfrom pretreat.page.workers.worker import _Fence\n"
        f"fence = _Fence(); sys.addaudithook(fence); os.chdir({str(tmp_path)!r})\n"
        f"fence.folder = os.path.realpath('.')\nopen('own.txt', 'w').close()\n{code}\n"
    )
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True)
    assert said in done.stderr


def test_a_script_need_not_guard_its_main_part():
    import subprocess
    import sys

    script = """
import sys
from starlette.testclient import TestClient
from pretreat.page.app import create_app
print("once")
with TestClient(create_app(), base_url="http://127.0.0.1") as client:
    files = {"report": ("r.csv", b"pH,7\\nCalcium,80,mg/L\\n")}
    print(client.post("/api/check", files=files).status_code)
"""
    done = subprocess.run(
        [sys.executable, "-"], input=script, capture_output=True, text=True, cwd=ROOT
    )
    assert done.stdout.split() == ["once", "200"], done.stderr
