"""Every file says where its numbers come from, in the way that such files have for it; and records draw themselves."""

import io
import json
from dataclasses import replace
from html.parser import HTMLParser
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

import dryingsim as ds
from dryingsim.answer import Answer
from dryingsim.history.provenance import attributes
from dryingsim.show.core.pdf import pdf_of
from dryingsim.show.report.document import report_html
from dryingsim.show.run.files import write_results
from dryingsim.show.run.sheet import sheet_document
from dryingsim.show.spread.text import write_spread

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def batch():
    demo = ds.demo_batch()
    stage = replace(demo.stages[demo.first_drying], duration_s=2 * 3600.0, until=None)
    return replace(demo, name="slices & <more>", stages=(stage,))


@pytest.fixture(scope="module")
def spread(batch):
    return ds.spread(batch, slices=64, seed=7)


def _of_png(content):
    return json.loads(Image.open(io.BytesIO(content)).text["Description"])


def _of_svg(text):
    return json.loads(
        ElementTree.fromstring(text).find(".//{http://purl.org/dc/elements/1.1/}description").text
    )


def _same(said, batch):
    assert ds.parse_batch(said["inputs"], "again") == batch
    assert f"dryingsim {ds.__version__}" in said["computed_by"]
    assert batch.name in said["title"]


def test_a_spread_says_it_in_each_of_its_files(spread, tmp_path):
    write_spread(spread, tmp_path / "svg", pictures="svg")
    write_spread(spread, tmp_path)
    with np.load(tmp_path / "slices.npz") as arrays:  # without pickled objects
        of_arrays = json.loads(str(arrays["provenance"]))
    of_pictures = (
        _of_png((tmp_path / "spread.png").read_bytes()),
        _of_svg((tmp_path / "svg" / "spread.svg").read_text()),
    )
    for said in (of_arrays, *of_pictures):
        _same(said, spread.batch)
        assert said["seed"] == 7
    beside = json.loads((tmp_path / "spread.json").read_text())  # which speaks for the CSV beside it
    assert beside["seed"] == 7
    assert beside["versions"]["dryingsim"] == ds.__version__
    assert ds.parse_batch(beside["inputs"], "again") == spread.batch


def test_a_run_says_it_in_each_of_its_files(batch, tmp_path):
    history = ds.run(batch)
    write_results(Answer(history), tmp_path)
    for name in ("drying", "lethality"):
        _same(_of_png((tmp_path / f"{name}.png").read_bytes()), batch)
    made = json.dumps(attributes(batch, batch.name))
    page = pdf_of(sheet_document(Answer(history)), "metric", made=made)
    assert f"dryingsim {ds.__version__}".encode() in page
    assert b"/Subject" in page


def test_a_spread_a_map_and_a_comparison_draw_themselves(batch, spread):
    axes = spread.plot()
    assert "water activity" in axes.get_ylabel()
    assert spread.plot(axes) is axes
    values = np.array([3e-3, 5e-3])
    lines = ds.map_over(batch, {"thickness_m": values}, organism=None).plot()
    assert lines.get_xlabel() == "thickness_m"
    np.testing.assert_allclose(lines.lines[0].get_xdata(), values)
    contours = ds.map_over(
        batch, {"thickness_m": values, "film_factor": np.array([0.8, 1.2])}, organism=None
    ).plot()
    assert (contours.get_xlabel(), contours.get_ylabel()) == ("thickness_m", "film_factor")
    both = ds.compare([batch, replace(batch, name="again")]).plot(units="us")
    assert [text.get_text() for text in both.get_legend().get_texts()] == ["1  slices & <more>", "2  again"]


def test_a_report_page_says_it_out_of_sight(batch):
    class Head(HTMLParser):
        said = None

        def handle_starttag(self, tag, attributes):
            if tag == "meta" and ("name", "provenance") in attributes:
                self.said = json.loads(dict(attributes)["content"])

    page = Head()
    page.feed(report_html(Answer(ds.run(batch)), []))
    _same(page.said, batch)
