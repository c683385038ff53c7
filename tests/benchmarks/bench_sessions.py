"""Twenty readers at once, one choice per five seconds each, as a ratio to a bare Bokeh app.

Run: ``python -m tests.benchmarks.bench_sessions --home DIR``. Reach: the 95th percentile at most 2.2 times
the bare app's, no error, no wrong row. A headless reader speaks the page's own protocol over its websocket:
it takes the document, says that it stands (without that word a server holds work back and one measures
nothing), sets the choice, and counts until the last answer before the next choice. Rows are wrong if the
answer does not hold the table of the group that this reader chose, as the release has it.
"""

import argparse
import asyncio
import html
import json
import os
import random
import re
import statistics
import subprocess
import time
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tornado.websocket import WebSocketClientConnection, websocket_connect

from tests.benchmarks.bench_rooms import bare
from tests.support.serve import served

TEAMS = tuple(f"team.T{number:02d}" for number in range(1, 13))
QUIET = 0.4
READY = {
    "kind": "MessageSent",
    "msg_type": "bokeh_event",
    "msg_data": {"type": "event", "name": "document_ready", "values": {"type": "map", "entries": []}},
}


@dataclass
class Told:
    """What all readers of one app met."""

    seconds: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


class Reader:
    """One open page without a browser."""

    def __init__(self, connection: WebSocketClientConnection) -> None:
        self._connection, self._select = connection, ("", False)
        # One task reads on: whoever stops waiting must not leave half a message behind.
        self._come: asyncio.Queue[tuple[str, str]] = asyncio.Queue()
        self._reading = asyncio.create_task(self._read_on())

    @classmethod
    async def open(cls, address: str) -> "Reader":
        """Open a page and find what takes choices in it."""
        loop = asyncio.get_running_loop()
        page = await loop.run_in_executor(None, lambda: urllib.request.urlopen(address, timeout=60).read())
        token = re.search(rb'"token":"([^"]+)"', page)
        assert token is not None, "the page names no session"
        place = address.split("?")[0].rstrip("/").replace("http", "ws", 1) + "/ws"
        reader = cls(
            await websocket_connect(
                place, subprotocols=["bokeh", token[1].decode()], max_message_size=64 * 2**20
            )
        )
        await reader._one("ACK")
        await reader._send("PULL-DOC-REQ", {})
        reader._select = _chooser(json.loads(await reader._one("PULL-DOC-REPLY")))
        await reader._send("PATCH-DOC", {"events": [READY]})
        await reader.answers(1.0)
        return reader

    async def _read_on(self) -> None:
        while isinstance(head := await self._connection.read_message(), str):
            known = json.loads(head)
            await self._connection.read_message()
            content = await self._connection.read_message()
            for _ in range(2 * known.get("num_buffers", 0)):
                await self._connection.read_message()
            await self._come.put((known["msgtype"], str(content)))

    async def _send(self, kind: str, content: Any) -> None:
        for part in ({"msgid": str(random.getrandbits(60)), "msgtype": kind}, {}, content):
            await self._connection.write_message(json.dumps(part))

    async def _one(self, kind: str) -> str:
        while True:
            found, content = await self._come.get()
            assert found != "ERROR", content[:200]
            if found == kind:
                return content

    async def choose(self, value: str) -> None:
        """Set the choice: a plain list by its value, the rooms' bar by the message it sends."""
        model, is_bar = self._select
        if not is_bar:
            event: Any = {"kind": "ModelChanged", "model": {"id": model}, "attr": "value", "new": value}
        else:
            said = {"type": "map", "entries": [["name", "unit"], ["value", value]]}
            values = {"type": "map", "entries": [["model", {"id": model}], ["data", said]]}
            sent = {"type": "event", "name": "data_event", "values": values}
            event = {"kind": "MessageSent", "msg_type": "bokeh_event", "msg_data": sent}
        await self._send("PATCH-DOC", {"events": [event]})

    async def answers(self, longest: float, wanted: str = "") -> tuple[float, str]:
        """Return when the last change of the page came, and all changes as text.

        They have ended once ``wanted`` has come and nothing more comes for a while.
        """
        last, text = time.perf_counter(), ""
        end = last + longest
        while True:
            told = bool(text) and wanted in text
            left = (min(last + QUIET, end) if told else end) - time.perf_counter()
            if left <= 0:
                return last, text
            try:
                content = await asyncio.wait_for(self._one("PATCH-DOC"), left)
            except TimeoutError:
                return last, text
            if "ModelChanged" in content or "ColumnDataChanged" in content:
                last, text = time.perf_counter(), text + content

    def close(self) -> None:
        """Leave."""
        self._reading.cancel()
        self._connection.close()


def _chooser(node: Any) -> tuple[str, bool]:
    """Return the id of the part that takes choices, and whether it is the rooms' bar."""
    left = [node]
    while left:
        here = left.pop()
        if isinstance(here, list):
            left += here
        elif isinstance(here, dict):
            attributes = here.get("attributes")
            if isinstance(attributes, dict):
                if attributes.get("title") == "Who" and "value" in attributes:
                    return str(here["id"]), False
                data = attributes.get("data")
                if isinstance(data, dict) and "doors" in data.get("attributes", {}):
                    return str(here["id"]), True
            left += here.values()
    raise AssertionError("the page has nothing to choose")


async def _choices(
    reader: Reader, number: int, end: float, every: float, told: Told, expected: dict[str, str]
) -> None:
    rng = random.Random(number)
    await asyncio.sleep(every * rng.random())
    before = ""
    try:
        while time.perf_counter() < end:
            value = rng.choice([team for team in TEAMS if team != before])
            wanted = json.dumps(html.escape(expected[value]))[1:-1] if expected else ""
            before, start = value, time.perf_counter()
            await reader.choose(value)
            last, text = await reader.answers(every, wanted)
            if not text:
                told.errors.append(f"reader {number}: no answer within {every} s")
            else:
                told.seconds.append(last - start)
            if wanted not in text:
                told.wrong.append(f"reader {number}: the table is not that of {value}")
            await asyncio.sleep(max(0.0, start + every - time.perf_counter()))
    except (AssertionError, OSError) as error:
        told.errors.append(f"reader {number}: {error}")


def soak(address: str, readers: int, seconds: float, every: float, expected: dict[str, str]) -> Told:
    """Return what readers met who, all their pages open, chose for a while."""
    told = Told()

    async def all_of_them() -> None:
        open_pages = [await Reader.open(address) for _ in range(readers)]
        end = time.perf_counter() + seconds
        await asyncio.gather(
            *(_choices(page, n, end, every, told, expected) for n, page in enumerate(open_pages))
        )
        for page in open_pages:
            page.close()

    asyncio.run(all_of_them())
    return told


def tables(release: Path) -> dict[str, str]:
    """Return the markup each team's reader must get, read past the server."""
    from dashboards.app import door_of
    from dashboards.data import ReleaseFrames
    from dashboards.state import RoomState
    from dashboards.views import load

    frames = ReleaseFrames(door_of(release).pin())
    state = RoomState(frames.choices())
    state.room = "Load"
    found = {}
    for team in TEAMS:
        state.unit = team
        found[team] = load.profile_markup(frames, state.settings())[0]
    return found


def server_memory() -> int:
    """Return the resident MiB of the youngest child that serves."""
    listed = subprocess.run(
        ["ps", "--ppid", str(os.getpid()), "-o", "pid=,rss=,args="],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    found = [line.split(None, 2) for line in listed.splitlines() if "serve" in line]
    return int(found[-1][1]) // 1024


def p95(seconds: list[float]) -> float:
    """Return the 95th percentile in milliseconds."""
    return 1000 * statistics.quantiles(seconds, n=20)[-1]


def main() -> None:
    """Print both apps' percentiles, the errors, the wrong rows and the memory."""
    options = argparse.ArgumentParser()
    options.add_argument("--home", type=Path, required=True, help="data home of a full demo")
    options.add_argument("--readers", type=int, default=20)
    options.add_argument("--seconds", type=float, default=120)
    options.add_argument("--every", type=float, default=5)
    given = options.parse_args()
    from etl.home import Home

    release = Home(given.home).current_release.resolve()
    expected = tables(release)
    how = (given.readers, given.seconds, given.every)
    with bare() as plain:
        floor = soak(plain, *how, {})
    with served(release) as rooms:
        address = f"{rooms}/?room=Load"
        empty = server_memory()
        met = soak(address, *how, expected)
        full = server_memory()
        # Left pages are ended by the server itself, some 15 s after, and forgotten at their next look.
        time.sleep(75)
        after = server_memory()
        again = soak(address, given.readers, given.seconds / 4, given.every, expected)
        twice = server_memory()
    for name, told in (("bare", floor), ("rooms", met), ("rooms, second round", again)):
        assert told.seconds, told.errors[:3]
        print(
            f"{name:20} {len(told.seconds)} choices: median {1000 * statistics.median(told.seconds):.0f} ms, "
            f"p95 {p95(told.seconds):.0f} ms, {len(told.errors)} errors, {len(told.wrong)} wrong"
        )
        for line in (*told.errors[:3], *told.wrong[:3]):
            print("   ", line)
    print(f"p95 ratio {p95(met.seconds) / p95(floor.seconds):.2f} (reach 2.2)")
    page = (full - empty) / given.readers
    print(
        f"memory: {empty} MiB before, {full} with {given.readers} pages ({page:.1f} a page), "
        f"{after} after they ended, {twice} with {given.readers} more"
    )
    print(f"load average {os.getloadavg()[0]:.1f}", time.strftime("measured %Y-%m-%d"))


if __name__ == "__main__":
    main()
