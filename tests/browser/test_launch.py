"""`banksim app`: where it listens, how it ends, what it says when it cannot start."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from browsing import NOTE_CHANGES, settled
from screen_server import free_port, own_surroundings, start_screen, wait_until_it_answers

WORDS = [sys.executable, "-m", "bankSim", "app", "--no-browser"]


def listening_addresses(port):
    """Return the local addresses that listen at a port, by the kernel's own tables (Linux)."""
    found = []
    for table in ("tcp", "tcp6"):
        for row in Path(f"/proc/net/{table}").read_text(encoding="ascii").splitlines()[1:]:
            local, state = row.split()[1], row.split()[3]
            if state == "0A" and int(local.split(":")[1], 16) == port:
                found.append(local.split(":")[0])
    return found


def run_app(folder, *words, **more):
    """Run `banksim app` until it ends by itself."""
    return subprocess.run(
        [*WORDS, *words],
        check=False,
        cwd=folder,
        env=own_surroundings(folder) | more,
        capture_output=True,
        text=True,
        timeout=60,
    )


def wait_for(found, seconds=60.0):
    """Wait until something is found."""
    end = time.monotonic() + seconds
    while not found():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.05)


def test_listens_on_this_machine_only(server):
    assert listening_addresses(server.port) == ["0100007F"]  # 127.0.0.1, bytes reversed


def test_port_in_use_is_one_line(tmp_path):
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        door.listen()
        done = run_app(tmp_path, "--port", str(door.getsockname()[1]))
    assert (done.returncode, done.stdout) == (2, "")
    assert re.fullmatch(r"port \d+ is in use: .*--port.*\n", done.stderr)


def test_foreign_address_is_one_line(tmp_path):
    done = run_app(tmp_path, "--port", str(free_port()), "--address", "192.0.2.7")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "--address 192.0.2.7: no address of this machine\n"


@pytest.mark.parametrize(("sign", "code"), [(signal.SIGINT, {0, 130}), (signal.SIGTERM, {0})])
def test_leaves_quietly_and_cleans_up(browser, tmp_path, sign, code):
    port = free_port()
    with (tmp_path / "told.txt").open("wb") as told:
        process = subprocess.Popen(
            [*WORDS, "--port", str(port)],
            cwd=tmp_path,
            env=own_surroundings(tmp_path),
            stdout=told,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    try:
        wait_until_it_answers(f"http://127.0.0.1:{port}/")
        context = browser.new_context()
        context.add_init_script(NOTE_CHANGES)
        tab = context.new_page()
        tab.goto(f"http://127.0.0.1:{port}/")
        settled(tab)
        wait_for(lambda: list((tmp_path / "tmp").glob(".banksim-writing-*")))  # some to clean up
        os.kill(process.pid, sign)
        assert process.wait(20) in code
        context.close()
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
    text = (tmp_path / "told.txt").read_text(encoding="utf-8")
    assert "Traceback" not in text
    assert "Error" not in text
    assert list((tmp_path / "tmp").iterdir()) == []
    assert list((tmp_path / "home").iterdir()) == []


def test_server_ends_when_its_tests_are_killed(tmp_path):
    screen = start_screen(tmp_path)
    screen.process.stdin.close()  # as happens when the process that holds it is gone
    screen.process.wait(20)
    time.sleep(0.2)
    assert listening_addresses(screen.port) == []


def test_open_to_others_is_said_plainly(browser, tmp_path):
    screen = start_screen(tmp_path, "--address", "0.0.0.0")
    try:
        assert listening_addresses(screen.port) == ["00000000"]
        assert "open to everybody who reaches 0.0.0.0" in screen.told
        assert "no password" in screen.told
        # the first visitor of a server may come by the address of a page
        context = browser.new_context()
        context.add_init_script(NOTE_CHANGES)
        tab = context.new_page()
        tab.goto(f"{screen.url}what-if")
        settled(tab)
        assert tab.get_by_role("heading", level=1).inner_text() == "What if"
        assert tab.get_by_role("dialog").count() == 0
        context.close()
    finally:
        screen.stop()
