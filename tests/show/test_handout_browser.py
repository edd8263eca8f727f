"""The page with sliders in a browser: it tells what the grid tells; by touch, by keys, to a screen reader; on a telephone."""

import numpy as np
import pytest
from made_browser import CHROMIUM, browser
from made_slider_grid import AXES, full_size_grid, small_errors, small_grid, start_answer

from dryingsim.show.core.page import DARK
from dryingsim.show.handout.page import write_handout
from dryingsim.show.handout.words import NAMES, TITLES

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: apt-get install chromium")
PHONE = {"width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": True}


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("handout")
    path = write_handout(small_grid(), small_errors(), start_answer(), folder / "page.html")
    with browser(folder) as chromium:
        chromium.call("Emulation.setDeviceMetricsOverride", **PHONE)
        chromium.call("Emulation.setTouchEmulationEnabled", enabled=True)
        chromium.open(path)
        chromium.path = path
        yield chromium
        assert chromium.said() == []  # nothing on the console in all of this
        assert all(
            address.startswith("file:") for address in chromium.requested()
        )  # nothing but pages of this disk
        assert {address.rpartition(".")[2] for address in chromium.requested()} == {"html"}


def rest(page):
    """Wait until the sliders have rested, and a screen reader is told."""
    return page.ask("new Promise(done => requestAnimationFrame(() => setTimeout(done, 900)))")


def test_it_tells_between_points_what_the_grid_tells(page):
    grid, rng = small_grid(), np.random.default_rng(5)
    low, high = np.array([axis.nodes[[0, -1]] for axis in AXES]).T
    settings = low + (high - low) * rng.random((12, 4))
    settings[:2] = low, high  # at a point, and between
    times = rng.uniform(0.0, 1.6, 12) * grid.at(settings, np.zeros(12)).ready_s
    told = grid.at(settings, times)
    for i, (row, time) in enumerate(zip(settings.tolist(), times.tolist(), strict=True)):
        found = page.ask(
            f"(() => {{ const c = courseOf({row}), m = momentOf(c, {time});"
            "return { ...m, ready: c.ready, wetBulb: c.wetBulb }; })()"
        )
        # the page has the time until ready to 0.1 s and the steps of its numbers to nine digits
        assert found["ready"] == pytest.approx(told.ready_s[i], rel=1e-5)
        assert found["wetBulb"] == pytest.approx(told.wet_bulb_K[i], abs=2e-3)
        np.testing.assert_allclose(found["moisture"], told.moisture_db[i], atol=1e-4)
        np.testing.assert_allclose(found["temperature"], told.temperature_K[i], atol=2e-3)
        verdict = found["verdict"]
        assert (verdict["grade"], verdict["grown"]) == (told.grade[i], told.grown[i])
        assert told.lower[i] - 0.1 < verdict["lower"] <= told.lower[i] + 1e-9
        assert verdict["best"] <= told.best[i] + 1e-9


def test_it_fits_a_telephone(page):
    found = page.ask(
        """(() => { const box = e => e.getBoundingClientRect(); return {
        scroll: document.documentElement.scrollWidth,
        wide: [...document.querySelectorAll("body *")].filter(e => !e.closest(".skip, .hidden") && box(e).right > 361)
          .map(e => e.tagName),
        low: [...document.querySelectorAll("button, input")].map(e => box(e).height),
        small: Math.min(...[...document.querySelectorAll("svg.pic text")].map(e => parseFloat(getComputedStyle(e).fontSize)
          * box(e.closest("svg")).width / 340)),
        pictures: [...document.querySelectorAll("svg.pic")].map(e => box(e).height) }; })()"""
    )
    assert found["scroll"] <= 360
    assert found["wide"] == []
    assert min(found["low"]) >= 44.0  # CSS pixels: what a finger hits
    assert found["small"] >= 11.0
    assert len(found["pictures"]) == len(TITLES)
    assert min(found["pictures"]) > 150.0


def test_a_finger_moves_a_slider(page):
    page.ask("element('again').click(); element('air_K').scrollIntoView({block: 'center'})")
    box = page.ask(
        "(b => ({x: b.x, y: b.y, w: b.width, h: b.height}))(element('air_K').getBoundingClientRect())"
    )
    before = page.ask("element('ready').textContent")
    point = {"x": box["x"] + 0.05 * box["w"], "y": box["y"] + 0.5 * box["h"]}
    page.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[point])
    page.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
    page.call("Input.synthesizeTapGesture", **point)
    rest(page)
    assert page.ask("state.stops.air_K") <= 4
    assert page.ask("element('ready').textContent") != before


def test_keys_move_a_slider_and_a_reader_is_told(page):
    page.ask("element('again').click(); element('thickness_m').focus()")
    rest(page)
    before = page.ask("[state.stops.thickness_m, element('spoken').textContent]")
    for kind in ("keyDown", "keyUp"):
        page.call("Input.dispatchKeyEvent", type=kind, key="End", code="End", windowsVirtualKeyCode=35)
    rest(page)
    after = page.ask("[state.stops.thickness_m, element('spoken').textContent]")
    assert after[0] == page.ask("data.sliders[0].stops.length - 1") > before[0]
    assert after[1] != before[1]
    assert after[1].startswith("Ready after ")
    assert "required" in after[1]


def test_a_reader_is_told_what_everything_is(page):
    nodes = page.call("Accessibility.getFullAXTree")["nodes"]

    def named(role):
        found = [one for one in nodes if one.get("role", {}).get("value") == role and not one["ignored"]]
        return [
            (one["name"]["value"], {p["name"]: p["value"].get("value") for p in one.get("properties", [])})
            for one in found
        ]

    sliders = named("slider")
    assert [name.split(" ")[0] for name, _ in sliders] == [name.split(" ")[0] for name in NAMES.values()]
    texts = [properties.get("valuetext", "") for _, properties in sliders]
    assert texts[0].endswith("mm")
    assert texts[1].endswith("°C")
    buttons = dict(named("button"))
    assert {"Metric", "US"} <= set(buttons)
    assert buttons["Metric"]["pressed"] == "true"
    pictures = [name for name, _ in named("image")]
    assert len(pictures) == len(TITLES)
    assert all(any(digit in name for digit in "0123456789") for name in pictures)
    assert len(named("status")) == 1


def test_units_are_a_button(page):
    page.ask("element('us').click()")
    assert page.ask("element('air_K-value').textContent").endswith("°F")
    assert page.ask("element('thickness_m').getAttribute('aria-valuetext')").endswith(" in")
    assert "oz" in page.ask("element('stop').textContent")
    assert page.ask("getComputedStyle(document.querySelector('.in-metric')).display") == "none"
    page.ask("element('metric').click()")
    assert page.ask("element('air_K-value').textContent").endswith("°C")


def at_its_end(page, *keys):
    """Move some sliders to their ends, the others to where they start, and the time to when it is ready."""
    ends = ", ".join(f"{key}: slid('{key}').stops.length - 1" for key in keys)
    page.ask(f"state.stops = {{...data.start, {ends}}}; goToReady()")


def test_it_says_when_it_is_ready_and_what_was_not_measured(page):
    at_its_end(page, "thickness_m", "air_K", "relative_humidity", "speed_m_s")
    assert page.ask("state.now.time >= state.course.ready")
    assert page.ask("element('verdict').textContent") == "MET ONLY IF MEASURED"
    assert "measure the wet bulb" in page.ask("element('cautions').textContent")
    page.ask("state.stops.time_s = 3; show()")
    assert "not ready yet" in page.ask("element('now-more').textContent")
    assert "Not ready yet" in page.ask("element('cautions').textContent")
    assert page.ask("element('verdict').textContent") == "FAR BELOW what is required"
    at_its_end(page)  # dry air, hardly any heat
    assert "MET" not in page.ask("element('verdict').textContent")
    assert "Do first: heat the slices" in page.ask("element('cautions').textContent")


def test_time_goes_by_at_a_press_and_in_still_steps_for_who_wants_no_motion(page):
    at_its_end(page)
    ready = page.ask("state.course.ready")
    page.ask("element('let-dry').click()")  # from when it is ready it begins anew
    assert page.ask("element('let-dry').getAttribute('aria-pressed')") == "true"
    rest(page)
    page.ask("element('let-dry').click()")
    stopped = page.ask("state.now.time")
    assert 0.0 < stopped < 1.2 * ready
    rest(page)
    assert page.ask("state.now.time") == stopped
    page.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "reduce"}])
    page.ask("state.stops.time_s = 0; element('let-dry').click()")
    step = page.ask("state.now.time")
    assert ready / 6 <= step < ready / 5
    rest(page)
    assert page.ask("state.now.time") == step
    page.call("Emulation.setEmulatedMedia", features=[])


def test_nothing_moves_by_itself_and_dark_is_dark(page):
    asked = [
        {"name": "prefers-color-scheme", "value": "dark"},
        {"name": "prefers-reduced-motion", "value": "reduce"},
    ]
    page.call("Emulation.setEmulatedMedia", features=asked)
    page.ask("element('again').click()")
    paper = tuple(int(DARK["--page"][i : i + 2], 16) for i in (1, 3, 5))
    assert page.ask("getComputedStyle(document.body).backgroundColor") == f"rgb{paper}"
    assert page.ask("document.getAnimations().length") == 0
    page.call("Emulation.setEmulatedMedia", features=[])


def test_the_first_picture_is_there_within_a_second_on_a_slow_telephone(page, tmp_path):
    path = write_handout(full_size_grid(), small_errors(), start_answer(), tmp_path / "full.html")
    page.call("Emulation.setCPUThrottlingRate", rate=4)
    times = []
    for _ in range(4):  # other work runs beside the tests; the best of a few
        page.open(path)
        times.append(page.ask("performance.getEntriesByName('drawn')[0].startTime"))
        if times[-1] < 1000.0:
            break
    page.call("Emulation.setCPUThrottlingRate", rate=1)
    page.open(page.path)
    assert min(times) < 1000.0  # milliseconds


def test_a_mistake_on_the_console_would_be_seen(tmp_path):
    path = tmp_path / "page.html"
    path.write_text("<!doctype html><title>x</title><script>nothing.here</script>", encoding="utf-8")
    with browser(tmp_path) as chromium:
        chromium.open(path)
        assert any("nothing is not defined" in str(event) for event in chromium.said())
