"""The server's doors: who may ask, how much may be handed in, what it tells when it fails."""

import os
import re
import socket
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

from browsing import NOTE_CHANGES, hand_in, open_uploader, settled
from hostile_bank import bank
from screen_server import free_port, own_surroundings, wait_until_it_answers

from bankSim.screens.launch import options


def ask(port, lines, body=b""):
    """Send a request by hand; return the code of the answer and its first bytes."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall("\r\n".join([*lines, "", ""]).encode() + body)
        answer = line.recv(4000)
    return int(answer.split(b" ", 2)[1]), answer


def knock(port, origin=None, host=None):
    """Ask for the stream that pages live on; 101 lets in."""
    lines = [
        "GET /_stcore/stream HTTP/1.1",
        f"Host: {host or f'127.0.0.1:{port}'}",
        "Connection: Upgrade",
        "Upgrade: websocket",
        "Sec-WebSocket-Version: 13",
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
    ]
    return ask(port, [*lines, f"Origin: {origin}"] if origin else lines)[0]


def test_pages_of_other_places_are_not_let_in(server):
    assert knock(server.port, f"http://127.0.0.1:{server.port}") == 101
    assert knock(server.port, "http://elsewhere.example") == 403
    assert knock(server.port, f"http://127.0.0.1:{server.port}", "elsewhere.example") == 403


def test_no_other_program_drives_the_screen(server):
    body = b"{}"
    lines = [
        "POST /_stcore/agent/interact HTTP/1.1",
        f"Host: 127.0.0.1:{server.port}",
        "Content-Type: application/json",
        f"Content-Length: {len(body)}",
    ]
    code, answer = ask(server.port, lines, body)
    assert code >= 400, answer


def test_uploads_are_bounded_as_is_said_and_need_the_page(page, server):
    tab = page()
    open_uploader(tab)
    uploader = tab.get_by_test_id("stFileUploader").first.inner_text()
    assert re.search(r"\d+\s?MB", uploader), uploader
    with tab.expect_request(lambda one: one.method == "PUT") as put:
        hand_in(tab, bank("small", ("a", "b"), (50.0, 60.0)))
    settled(tab)
    headers = put.value.all_headers()
    path = urlsplit(put.value.url).path
    token = next(value for name, value in headers.items() if name.lower() == "x-xsrftoken")
    most = int(options(1, "127.0.0.1", browser=False)["server.maxUploadSize"]) * 1024 * 1024
    lines = [
        f"PUT {path} HTTP/1.1",
        f"Host: 127.0.0.1:{server.port}",
        "Content-Type: multipart/form-data; boundary=x",
    ]
    known = [f"Cookie: {headers['cookie']}", f"X-Xsrftoken: {token}"]
    assert ask(server.port, [*lines, "Content-Length: 10"], b"0123456789")[0] == 403
    assert ask(server.port, [*lines, *known, f"Content-Length: {most + 1}"])[0] == 413
    assert_it_talks_to_nobody_else(server)


def test_a_bug_shows_no_paths_and_no_lines(browser, tmp_path):
    (tmp_path / "work").mkdir()
    script = tmp_path / "work" / "private_place.py"
    script.write_text(
        "import streamlit as st\nst.title('x')\nraise RuntimeError('/private/words')\n",
        encoding="utf-8",
    )
    port = free_port()
    flags = [
        f"--{name}={str(value).lower() if isinstance(value, bool) else value}"
        for name, value in options(port, "127.0.0.1", browser=False).items()
        if name.split(".")[0] in ("server", "client", "browser") and not isinstance(value, list)
    ]
    process = subprocess.Popen(
        [sys.executable, "-m", "streamlit", "run", str(script), *flags],
        cwd=tmp_path / "work",
        env=own_surroundings(tmp_path),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_until_it_answers(f"http://127.0.0.1:{port}/")
        context = browser.new_context()
        context.add_init_script(NOTE_CHANGES)
        tab = context.new_page()
        tab.goto(f"http://127.0.0.1:{port}/")
        tab.get_by_test_id("stException").wait_for()
        page = tab.content()
        context.close()
    finally:
        process.terminate()
        process.wait(20)
    for secret in ("private_place.py", "/private/words", "Traceback", "line 3"):
        assert secret not in page


def assert_it_talks_to_nobody_else(server):
    """Look at the server's connections; a page is open."""
    ours = set()
    for process in _children(server.process.pid):
        for one in Path(f"/proc/{process}/fd").iterdir():
            if match := re.fullmatch(r"socket:\[(\d+)\]", _where(one)):
                ours.add(match[1])
    foreign = [row for row in _connections() if row[0] in ours and row[1] not in LOOPBACK]
    assert ours
    assert foreign == []


LOOPBACK = {"0100007F", "00000000", "0" * 32, "0000000000000000FFFF00000100007F"}


def _connections():
    """Inode and remote address of every TCP connection of this machine (Linux)."""
    for table in ("tcp", "tcp6"):
        for row in Path(f"/proc/net/{table}").read_text(encoding="ascii").splitlines()[1:]:
            parts = row.split()
            yield parts[9], parts[2].split(":")[0]


def _children(parent):
    """Return a process and all that it began."""
    found = [parent]
    for task in Path(f"/proc/{parent}/task").iterdir():
        for child in (task / "children").read_text(encoding="ascii").split():
            found += _children(int(child))
    return found


def _where(link):
    try:
        return os.readlink(link)
    except OSError:
        return ""
