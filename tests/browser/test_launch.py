"""`banksim app`: where it listens, how it ends, what it says when it cannot start."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from browsing import NOTE_CHANGES, settled
from screen_server import free_port, own_surroundings, start_screen, wait_until_it_answers

WORDS = [sys.executable, "-m", "bankSim", "app", "--no-browser"]
WRITTEN = ".banksim-writing-*"


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


def first_visit(browser, address):
    """Look at a page with a browser that knows nothing; return its headings and dialogs."""
    context = browser.new_context()
    context.add_init_script(NOTE_CHANGES)
    tab = context.new_page()
    tab.goto(address)
    settled(tab)
    found = tab.get_by_role("heading", level=1).inner_text(), tab.get_by_role("dialog").count()
    return context, found


def is_quiet(text):
    return "Traceback" not in text and "Error" not in text


def test_leaves_quietly_and_cleans_up(browser, tmp_path):
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
        context, _ = first_visit(browser, f"http://127.0.0.1:{port}/")
        wait_for(lambda: list((tmp_path / "tmp").glob(WRITTEN)))  # some to clean up
        os.kill(process.pid, signal.SIGINT)
        assert process.wait(20) in {0, 130}
        context.close()
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
    assert is_quiet((tmp_path / "told.txt").read_text(encoding="utf-8"))
    assert list((tmp_path / "tmp").iterdir()) == []
    assert list((tmp_path / "home").iterdir()) == []


def test_open_to_others_is_said_plainly_and_ends_with_its_tests(browser, tmp_path):
    screen = start_screen(tmp_path, "--address", "0.0.0.0")
    try:
        assert listening_addresses(screen.port) == ["00000000"]
        assert "open to everybody who reaches 0.0.0.0" in screen.told
        assert "no password" in screen.told
        # the first visitor of a server may come by the address of a page
        context, (heading, dialogs) = first_visit(browser, f"{screen.url}what-if")
        assert (heading, dialogs) == ("What if", 0)
        wait_for(lambda: list((tmp_path / "tmp").glob(WRITTEN)))
        screen.process.stdin.close()  # as happens when the process that holds it is gone
        assert screen.process.wait(20) == 0  # its end was asked for with SIGTERM
        context.close()
    finally:
        screen.stop()
    assert is_quiet(screen.told)
    assert screen.left_behind() == []
    time.sleep(0.2)
    assert listening_addresses(screen.port) == []
