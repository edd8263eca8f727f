"""The page in a browser: no message on the console, no request, nothing wider than the screen, dark and light."""

import json
import re
import shutil
import subprocess
from dataclasses import replace

import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.explore.changes import small_changes
from dryingsim.show.core.page import DARK, LIGHT
from dryingsim.show.report.document import report_html

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: apt-get install chromium")
# what the page says of itself once it stands; asked by a script that only this copy of the page has
PROBE = """<script>addEventListener("load",()=>{
const wide=[...document.querySelectorAll("body *")].filter(e=>!e.closest(".wide")&&!e.closest(".skip")
 &&e.getBoundingClientRect().right>innerWidth+1).map(e=>e.tagName);
const svg=[...document.querySelectorAll("svg.pic")];
const small=Math.min(...[...document.querySelectorAll("svg.pic text")].map(e=>parseFloat(getComputedStyle(e).fontSize)
 *e.closest("svg").getBoundingClientRect().width/e.closest("svg").viewBox.baseVal.width));
parent.postMessage(JSON.stringify({inner:innerWidth,scroll:document.documentElement.scrollWidth,
 wide,requests:performance.getEntriesByType("resource").length,paper:getComputedStyle(document.body).backgroundColor,
 words:getComputedStyle(svg[0].querySelector("text")).fill,pictures:svg.map(e=>e.getBoundingClientRect().height),small}),"*")
})</script></body>"""
# a window cannot be as narrow as a telephone, a frame in it can
FRAME = """<!doctype html><html><head><meta charset="utf-8"></head><body><script>
addEventListener("message",e=>{{document.documentElement.dataset.probe=e.data}})
</script><iframe src="{page}" style="border:0;width:{width}px;height:900px"></iframe></body></html>"""


@pytest.fixture(scope="module")
def text():
    history = ds.run(warm_air(), nodes=12)
    short = replace(history.batch, stages=(replace(history.batch.stages[0], duration_s=600.0),))
    return report_html(ds.Answer(history), small_changes(short))


def browse(folder, *options):
    done = subprocess.run(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
            "--enable-logging=stderr", f"--user-data-dir={folder / 'profile'}", *options,
        ],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    return done.stdout, [line for line in done.stderr.splitlines() if "CONSOLE" in line]


def rgb(colour):
    return "rgb({}, {}, {})".format(*(int(colour[i : i + 2], 16) for i in (1, 3, 5)))


@pytest.mark.parametrize(
    ("width", "scheme", "colours"), [(360, 0, DARK), (1280, 1, LIGHT)], ids=["phone", "wide"]
)
def test_page_on_a_screen(text, tmp_path, width, scheme, colours):
    page, frame = tmp_path / "page.html", tmp_path / "frame.html"
    page.write_text(text.replace("</body>", PROBE), encoding="utf-8")
    frame.write_text(FRAME.format(page=page.name, width=width), encoding="utf-8")
    options = "--window-size=1400,1000", f"--blink-settings=preferredColorScheme={scheme}"
    dom, console = browse(tmp_path, *options, "--virtual-time-budget=2000", "--dump-dom", frame.as_uri())
    assert console == []
    found = json.loads(re.search(r'data-probe="([^"]+)"', dom)[1].replace("&quot;", '"'))
    assert found["inner"] == width
    assert found["scroll"] <= width
    assert found["wide"] == []
    assert found["requests"] == 0
    assert found["paper"] == rgb(colours["--page"])
    assert found["words"] == ("rgb(240, 240, 240)" if scheme == 0 else "rgb(0, 0, 0)")
    assert len(found["pictures"]) == 9
    assert min(found["pictures"]) > 200.0
    assert found["small"] >= 8.0  # CSS pixels, of the smallest word in a picture


def test_a_mistake_on_the_console_would_be_seen(text, tmp_path):
    page = tmp_path / "page.html"
    page.write_text(text.replace("</body>", "<script>nothing.here</script></body>"), encoding="utf-8")
    _, console = browse(tmp_path, "--virtual-time-budget=500", "--dump-dom", page.as_uri())
    assert any("nothing is not defined" in line for line in console)
