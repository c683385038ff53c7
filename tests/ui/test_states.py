"""What a reader meets when not all is well: no release, a broken one, a newer one, an old one, a fault.

Two servers: one over a home that fills up while it runs, one whose editions are replaced under open pages.
"""

import re
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import duckdb
import pytest

from etl.home import Home
from tests.support.serve import eventually, free_port, running, told
from tests.ui.conftest import Visit, opened

pytestmark = pytest.mark.browser

APP = Path(__file__).resolve().parents[2] / "dashboards" / "app.py"
# Nobody reads ahead here: it would cost more than the readers.
COLD = """
import dashboards.warm
dashboards.warm.PAUSE = 3600
"""
# Pages look for a newer edition each second; and one figure fails for one group.
PLANTED = f"""{COLD}
import dashboards.app
from dashboards.readings import cases
dashboards.app.LOOK_EVERY_MS = 1000
drawn = cases.cases
def failing(frames, chosen):
    if chosen.unit == "cluster.CELL":
        raise KeyError("planted fault")
    return drawn(frames, chosen)
cases.cases = failing
"""


class Publisher:
    """Puts editions into a home's place, as the release job does: a new file, then the link moved over."""

    def __init__(self, home: Path, release: Path) -> None:
        self.home, self._release, self.number = Home(home), release, 28
        self.home.release_dir.mkdir(parents=True)

    def link(self, target: Path) -> None:
        fresh = self.home.release_dir / "next"
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(target.name)
        fresh.replace(self.home.current_release)

    def publish(self, *changes: str, days_old: int = 3) -> Path:
        """Publish the invented release, changed by statements, under the next number."""
        self.number += 1
        target = self.home.release_dir / f"edition-{self.number:04d}.duckdb"
        shutil.copy(self._release, target)
        made = datetime.now(UTC).replace(tzinfo=None) - timedelta(days=days_old, hours=1)
        with duckdb.connect(str(target)) as con:
            con.execute("update edition set edition = ?, created_at = ?", [self.number, made])
            for change in changes:
                con.execute(change)
        self.link(target)
        return target

    def publish_rubbish(self) -> Path:
        """Publish a file that is no database."""
        self.number += 1
        target = self.home.release_dir / f"edition-{self.number:04d}.duckdb"
        target.write_bytes(b"this is no database " * 400)
        self.link(target)
        return target


@contextmanager
def page_at(chromium: Any, base: str) -> Iterator[Visit]:
    visit = opened(chromium, base)
    yield visit
    visit.page.close()
    assert visit.outside == []
    assert visit.errors == []


# ---------------------------------------------------------------- a home that fills up


@pytest.fixture(scope="module")
def unready(chromium: Any, release: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Serve a home without any release, as one's own machine does: the page says why there is nothing."""
    publisher = Publisher(tmp_path_factory.mktemp("unready") / "home", release)
    port = free_port()
    arguments = ["-m", "panel", "serve", str(APP), "--port", str(port), "--address", "127.0.0.1",
                 "--allow-websocket-origin", f"127.0.0.1:{port}"]  # fmt: skip
    env = {"EVENHAND_HOME": str(publisher.home.root)}
    with running(arguments, env=env, ready="app running at"):
        yield publisher, f"http://127.0.0.1:{port}/app"


def _said(visit: Visit, title: str) -> str:
    visit.page.get_by_role("heading", name=title).wait_for(timeout=60_000)
    condition = visit.page.get_by_role("status").filter(has_text="What to do")
    return condition.first.inner_text()


def test_a_home_is_empty_then_broken_then_without_numbers_then_shown(chromium: Any, unready: Any) -> None:
    publisher, address = unready
    with page_at(chromium, address) as visit:
        visit.open("")
        said = _said(visit, "No release to show.")
        assert "Nothing is published yet" in said
        assert str(publisher.home.current_release) in said
        assert "evenhand release" in said

        broken = publisher.publish_rubbish()
        visit.page.reload()
        eventually(lambda: "cannot be opened" in _said(visit, "No release to show."), 60)
        said = _said(visit, "No release to show.")
        assert broken.name in said
        assert "evenhand release verify" in said

        publisher.publish("delete from health", "delete from exposure", "delete from health_average")
        visit.page.reload()
        said = _said(visit, "This edition holds no numbers yet.")
        assert f"edition {publisher.number} of October 2026" in said
        assert "evenhand load" in said
        # Nothing to choose from where there is nothing.
        assert visit.page.get_by_role("combobox").count() == 0

        publisher.publish()
        visit.page.reload()
        visit.page.get_by_role("heading", name=re.compile("^Discomfort is rising")).wait_for(timeout=60_000)
        assert f"Edition {publisher.number}" in visit.text()


# ---------------------------------------------------------------- editions replaced under open pages


@pytest.fixture(scope="module")
def running_site(chromium: Any, release: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    publisher = Publisher(tmp_path_factory.mktemp("replaced") / "home", release)
    publisher.publish()
    with told(publisher.home.current_release, PLANTED) as (address, lines):
        yield publisher, f"{address}/", lines


def _hours(visit: Visit) -> str:
    return visit.profile()["Pipetting hours"][0].partition(" (")[0]


def test_a_newer_edition_is_announced_and_its_link_keeps_the_view(chromium: Any, running_site: Any) -> None:
    publisher, address, _ = running_site
    first = publisher.publish()
    with page_at(chromium, address) as visit:
        visit.open("room=Load&who=team.QC1&month=2026-09&measure=hours_per_week")
        with duckdb.connect(str(shutil.copy(first, first.with_suffix(".copy"))), read_only=True) as con:
            ((hours,),) = con.execute(
                "select value from exposure where unit = 'QC1' and period = '2026-09' "
                "and measure = 'hours_per_week'"
            ).fetchall()
        assert _hours(visit) == f"{hours:.1f} h a week"
        publisher.publish(
            "update exposure set value = value + 20, low = low + 20, high = high + 20 "
            "where unit = 'QC1' and measure = 'hours_per_week'"
        )
        link = visit.page.get_by_role("link", name="Load the newer edition")
        link.wait_for(timeout=60_000)
        # Announced, not slipped in: numbers of two editions are never mixed on one page.
        assert "A newer edition is published; this page keeps the one it opened." in visit.text()
        assert _hours(visit) == f"{hours:.1f} h a week"
        view = visit.url()
        link.click()
        eventually(lambda: f"Edition {publisher.number}" in visit.text(), 60, visit.text)
        visit.settled()
        assert visit.url() == view
        assert _hours(visit) == f"{hours + 20:.1f} h a week"
        assert link.count() == 0


def test_a_broken_newer_edition_is_told_and_the_last_good_one_served(
    chromium: Any, running_site: Any
) -> None:
    publisher, address, _ = running_site
    publisher.publish()
    good = publisher.number
    with page_at(chromium, address) as visit:
        visit.open("room=Data")
        broken = publisher.publish_rubbish()
        notice = visit.page.get_by_role("status").filter(has_text=broken.name)
        notice.wait_for(timeout=60_000)
        assert f"cannot be opened; shown is edition {good} of 2026-10" in notice.inner_text()
        assert visit.page.get_by_role("link", name="Load the newer edition").count() == 0
        # Whoever comes now gets the last good one too, and is told as much.
        visit.open("room=Data")
        assert "set aside" in visit.headline()
        assert f"Edition {good}" in visit.text()
        visit.page.get_by_role("status").filter(has_text=broken.name).wait_for(timeout=60_000)


def test_an_old_edition_says_so_and_a_young_one_does_not(chromium: Any, running_site: Any) -> None:
    publisher, address, _ = running_site
    words = "Later months are not in it; ask whoever publishes the releases before you act on it."
    with page_at(chromium, address) as visit:
        publisher.publish(days_old=62)
        visit.open("room=Data")
        assert f"Edition {publisher.number}" in visit.text()
        assert words not in visit.text()
        publisher.publish(days_old=63)
        visit.open("room=Data")
        notice = visit.page.get_by_role("status").filter(has_text=words)
        notice.wait_for(timeout=30_000)
        assert "and ends with October 2026" in notice.inner_text()
        # In front of the numbers, which stand all the same.
        box = notice.bounding_box()
        top = visit.page.get_by_role("heading", level=1).first.bounding_box()
        assert box is not None
        assert top is not None
        assert box["y"] + box["height"] <= top["y"]
        assert "set aside" in visit.headline()


def test_one_figures_fault_leaves_the_others_and_is_found_in_the_log(
    chromium: Any, running_site: Any
) -> None:
    publisher, address, lines = running_site
    publisher.publish()
    with page_at(chromium, address) as visit:
        visit.open("room=Month&who=cluster.CELL")
        said = _said(visit, "Recorded cases cannot be shown.")
        reference = re.search(r"reference ([0-9a-f]{8})", said)
        assert reference is not None
        assert "planted" not in visit.text()
        eventually(lambda: f"fault {reference.group(1)}: Recorded cases" in "".join(lines))
        assert "KeyError: 'planted fault'" in "".join(lines)
        for title in (
            "What moved since last year",
            "What was done",
            "Region by region, month by month",
            "Where",
        ):
            assert visit.page.get_by_role("heading", name=title, exact=True).count() == 1, title
        heights = visit.page.locator("canvas").evaluate_all("all => all.map(e => e.height)")
        assert heights
        assert min(heights) > 0
        # Another choice, and the figure is back in its place.
        visit.choose("Who", "Kestrel Institute")
        visit.page.get_by_role("heading", name="Recorded cases", exact=True).wait_for(timeout=60_000)
        eventually(lambda: "cannot be shown" not in visit.text(), 30, visit.text)


# ---------------------------------------------------------------- a slow line


# Drops a page nobody has connected to within half a second, as the server does after a quarter of a minute.
IMPATIENT = f"""{COLD}
import functools
import panel
import dashboards.serve
dashboards.serve.UNUSED_MS = 300
panel.serve = functools.partial(panel.serve, check_unused_sessions_milliseconds=200)
"""


def test_a_reader_on_a_slow_line_gets_the_view_and_no_other_host_is_asked(
    chromium: Any, release: Path
) -> None:
    """The server has given the page up when its scripts are there, and makes it anew for the connection."""
    with told(release, IMPATIENT) as (address, _), page_at(chromium, f"{address}/") as visit:

        def slowly(route: Any) -> None:
            time.sleep(3)
            route.continue_()

        visit.page.route(re.compile(r"bokeh\.min\.js"), slowly)
        visit.open("room=Data&who=cluster.BIO")
        eventually(lambda: "who=cluster.BIO" in visit.url(), 30, visit.url)
        visit.choose("Month", "September 2026")
        eventually(lambda: "month=2026-09" in visit.url(), 60, visit.url)


# ---------------------------------------------------------------- a figure without rows


def test_a_figure_without_rows_has_no_buttons_until_it_has_rows(visit: Visit) -> None:
    visit.open("room=Month&who=team.QC1")
    figure = "What moved since last year"
    offered = visit.page.get_by_role("button", name=re.compile(f"{figure}$"))
    assert visit.page.get_by_role("heading", name=figure, exact=True).count() == 1
    eventually(lambda: offered.count() == 0, 30, offered.all_inner_texts)
    visit.choose("Who", "Kestrel Institute")
    kinds = ["Table", "CSV", "XLSX", "SVG", "PNG"]
    eventually(lambda: offered.all_inner_texts() == kinds, 60, offered.all_inner_texts)
