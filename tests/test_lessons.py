"""The lessons: one source each, two forms; tasks that accept the teacher's answers, refuse wrong ones and give nothing away.

Each lesson is worked through once, at full size and from a folder of its own, as its teacher's notebook would be, but without
a kernel, which alone would take seconds to start. What their prose says of numbers is held by their checks.
"""

import ast
import json
import re
import symtable
from pathlib import Path
from types import SimpleNamespace

import matplotlib as mpl
import numpy as np
import pytest

from dryingsim import teaching
from dryingsim.errors import InputError
from dryingsim.show.lessons.pictures import collected_pictures
from dryingsim.teaching import open_lesson
from dryingsim.teaching.checks import MissError, near
from dryingsim.teaching.class_kit import student_notebooks
from dryingsim.teaching.lesson_page import lesson_page
from dryingsim.teaching.lesson_source import FORMS, LEVELS, assigned, lesson_names, parse_lesson, read_lesson
from dryingsim.teaching.markdown import html_of
from dryingsim.teaching.notebook import notebook
from dryingsim.teaching.worked_lesson import work_through

nbformat = pytest.importorskip("nbformat", reason="pip install -e '.[test]'")

ROOT = Path(__file__).resolve().parents[1]
NAMES = lesson_names()
every_lesson = pytest.mark.parametrize("name", NAMES)


def test_there_are_all_lessons():
    assert [name[:2] for name in NAMES] == [f"{letter}_" for letter in "abcdefghijkl"]


def test_a_summary_says_what_is_left(capsys):
    names = {
        "geometric_mean": 5.351,
        "sigma_ln": 0.5712,
        "four": np.array([2.65, 4.88, 10.57, 6.00]),
        "np": np,
    }
    check = open_lesson("k_evidence", names)
    check(1)
    check.summary()
    assert capsys.readouterr().out.splitlines() == [
        "Task 1: right (1 of 10).",
        "Lesson K: 1 of 10 right; to do: 2, 3, 4, 5, 6, 7, 8, 9, 10",
    ]


def test_what_is_not_defined_yet_is_said(capsys):
    open_lesson("k_evidence", {"times_as_large": 3.4})(5)
    assert "is not defined; run the cells above first" in capsys.readouterr().out
    open_lesson("k_evidence", {"forty_more": "a"})(6)
    assert "Task 6: not yet: which of the two" in capsys.readouterr().out
    with pytest.raises(InputError, match="tasks 1 to 10"):
        open_lesson("k_evidence", {})(11)
    with pytest.raises(InputError, match="lesson"):
        open_lesson("k_evidenc", {})


@pytest.mark.parametrize(
    ("lesson", "task", "names", "hint"),
    [
        (
            "a_meat_and_air",
            3,
            {"warm_humidity_percent": 0.0389},
            "100 times too small: is it asked for in per cent?",
        ),
        ("a_meat_and_air", 3, {"warm_humidity_percent": 389.0}, "100 times too large"),
        ("a_meat_and_air", 3, {"warm_humidity_percent": float("nan")}, "nan is not a number"),
        ("a_meat_and_air", 3, {"warm_humidity_percent": 3.2}, "the vapour stays, saturation rises"),
        ("a_meat_and_air", 4, {"wet_bulb_C": 30.2 + 273.15}, "273.15 too large: is it in kelvin"),
        ("a_meat_and_air", 8, {"reason": "d"}, "a letter is expected, one of a, b, c, not 'd'"),
        ("f_lethality", 7, {"why_core": ["b"]}, "a letter is expected, one of a, b, c, not ['b']"),
        (
            "f_lethality",
            10,
            {"met_names": {"heated first"}, "only_if_measured": ["humid first"]},
            "one name is expected as only_if_measured, not ['humid first']",
        ),
    ],
)
def test_a_hint_says_what_kind_of_slip_it_is(lesson, task, names, hint):
    cells_above = {  # what they leave, as far as these checks read it
        "vapour": 1118.0,
        "saturation": lambda celsius: 610.8 * np.exp(17.27 * celsius / (celsius + 237.3)),
        "meat": SimpleNamespace(wet_bulb_C=[30.2]),
        "tried": {
            "heated first": SimpleNamespace(grade="met"),
            "humid first": SimpleNamespace(grade="met only if measured"),
        },
    }
    state, said = open_lesson(lesson, cells_above | names).look_at(task)
    assert state == "not yet"
    assert said.startswith(hint), said


def test_a_number_in_an_array_is_a_number_and_a_large_tolerance_tells_no_slip():
    near(np.array([2.0]), 2.0, 0.1)
    near(2.0, np.array([2.0]), 0.1)
    with pytest.raises(MissError, match="3 numbers are expected, not 1"):
        near(2.0, [1.0, 2.0, 3.0], 0.1)
    with pytest.raises(MissError, match="follow the line"):  # 0.9 is as far off as 0 would be
        near(0.9, 90.0, 30.0, "follow the line")
    with pytest.raises(MissError, match="too small: is it in °C"):
        near([20.0, 30.0], [293.15, 303.15], 0.5)
    with pytest.raises(MissError, match="look again"):  # one of two is off otherwise
        near([20.0, 300.0], [293.15, 303.15], 0.5)


def test_what_students_call_says_what_it_returns():
    for name in teaching.__all__:
        helper = getattr(teaching, name)
        if not isinstance(helper, type):
            assert "Returns\n" in helper.__doc__, name
    counted = teaching.counted_reductions(60)
    assert all(isinstance(study, str) and low <= high for study, low, high in counted)


def spoiled(value):
    """Return another answer of the same kind: what a student might well put."""
    if callable(value):
        return lambda *given: spoiled(value(*given))
    if isinstance(value, bool) or type(value).__name__ == "bool":
        return not value
    if isinstance(value, str):
        return "nothing" if len(value) > 1 else {"a": "b", "b": "c", "c": "a"}[value]
    if isinstance(value, set):
        return value | {"as it is"}
    if isinstance(value, (list, tuple)):
        return [spoiled(one) for one in value]
    return value * 1.4 + 1


@every_lesson
def test_lesson_at_full_size(name, monkeypatch, tmp_path):
    """All that needs a lesson worked through is looked at together, so that it is done once on whatever worker."""
    monkeypatch.chdir(tmp_path)  # where nothing is
    with collected_pictures() as pictures:
        worked = work_through(read_lesson(name), pictures)
    assert worked.names["check"].states == dict.fromkeys(worked.lesson.tasks, "right")
    for task in worked.lesson.tasks:
        assert_wrong_answers_are_refused(worked, task)
    assert_pages_keep_answers_from_students(worked)
    assert list(tmp_path.iterdir()) == []


def assert_wrong_answers_are_refused(worked, task):
    names, check = worked.names, worked.names["check"]
    answers = {key: names[key] for key in worked.lesson.answered_names(task)}
    for changed in answers:  # one wrong among right ones is noticed
        names[changed] = spoiled(answers[changed])
        state, hint = check.look_at(task)
        assert (state, bool(hint)) == ("not yet", True), f"task {task}: {changed}"
        names[changed] = answers[changed]
    exec(worked.lesson.part("start", task).source, names)
    state, hint = check.look_at(task)
    assert (state, "in place of ..." in hint) == ("open", True), f"task {task}: {hint}"
    names.update(answers)


def assert_pages_keep_answers_from_students(worked):
    student, teacher = (lesson_page(worked, form) for form in FORMS)
    for page in (student, teacher):
        assert '<figure><img alt="' in page
        assert not re.search(r'(src|href)="http', page)
        assert len(page) < 500_000
    assert "For the teacher" in teacher
    assert "For the teacher" not in student
    assert ": right" in teacher
    assert ": right" not in student
    assert f"of {len(worked.lesson.tasks)} right" in teacher


@every_lesson
def test_lesson_is_built_as_lessons_are(name):
    lesson = read_lesson(name)
    prose = "\n".join(cell.source for cell in lesson.cells if cell.is_prose)
    for part in ("**Aims.**", "redict first", "fail", "our own", "**Sources.**"):
        assert part in prose, part
    assert re.search(r"simulation validates no process|no validated shelf life", lesson.cells[0].source)
    assert len(lesson.tasks) >= 8
    levels = [lesson.part("task", task).level for task in lesson.tasks]
    assert levels[0] in ("read", "reckon")
    assert levels[-1] == "write"
    assert {"reckon", "explain"} <= set(levels) <= set(LEVELS)
    assert any(cell.kind == "own" for cell in lesson.cells)


@every_lesson
def test_students_see_no_more_than_60_lines_of_code(name):
    code = [cell.source for cell in read_lesson(name).form("student") if not cell.is_prose]
    assert sum(bool(line.strip()) for source in code for line in source.splitlines()) <= 60


@every_lesson
def test_students_see_no_answer(name):
    lesson = read_lesson(name)
    seen = notebook(lesson, "student") + json.dumps([cell.source for cell in lesson.form("student")])
    for cell in lesson.cells:
        if cell.kind in ("answer", "note", "check"):
            assert json.dumps(cell.source)[1:-1] not in seen
            assert cell not in lesson.form("student")


def read_names(table, outermost=True):
    """Yield the names of a notebook's own that code reads, within functions too."""
    for symbol in table.get_symbols():
        if symbol.is_referenced() and (outermost or symbol.is_global()):
            yield symbol.get_name()
    for inner in table.get_children():
        yield from read_names(inner, outermost=False)


@every_lesson
def test_code_that_is_given_needs_no_answer(name):
    """What students are given runs whatever they answered, and shows the same as in the teacher's form."""
    lesson = read_lesson(name)
    own = {key for task in lesson.tasks for key in assigned(lesson.part("answer", task).source)}
    given = [cell.source for cell in lesson.cells if cell.kind in ("code", "own")]
    made = {key for source in given for key in assigned(source)}
    used = {key for source in given for key in read_names(symtable.symtable(source, name, "exec"))}
    assert not used & (own - made)
    assert not {key for task in lesson.tasks for key in lesson.answered_names(task)} & made


@every_lesson
@pytest.mark.parametrize("form", FORMS)
def test_notebooks_are_valid_and_without_output(name, form):
    book = nbformat.reads(notebook(read_lesson(name), form), as_version=4)
    nbformat.validate(book)
    assert len({cell["id"] for cell in book.cells}) == len(book.cells)
    assert all(cell.outputs == [] for cell in book.cells if cell.cell_type == "code")
    for cell in book.cells:
        if cell.cell_type == "code":
            ast.parse(cell.source)
            last = cell.source.splitlines()[-1]
            assert last.endswith(";") or not re.match(r"lines\(|\w\S*\.plot\(", last)


@pytest.mark.parametrize(
    ("markdown", "html"),
    [
        ("## A *b* `c*d*`", "<h2>A <em>b</em> <code>c*d*</code></h2>"),
        ("- one\n- **two**\n  goes on", "<ul><li>one</li><li><strong>two</strong> goes on</li></ul>"),
        ("1. one\n2. two", "<ol><li>one</li><li>two</li></ol>"),
        (
            "| a | b |\n|---|---|\n| 1 | x < y |",
            "<thead><tr><th>a</th><th>b</th></tr></thead><tbody><tr><td>1</td><td>x &lt; y</td>",
        ),
        ("[here](a.md)", '<p><a href="a.md">here</a></p>'),
        ("A line\ngoes on\n\nnext", "<p>A line goes on</p>\n<p>next</p>"),
        ("$x_1$", 'alt="x_1" src="data:image/svg+xml;base64,'),
        ("$$\\frac{a}{b}$$", '<p class="formula"><img class="formula" alt="\\dfrac{a}{b}"'),
    ],
)
def test_markdown_as_pages_show_it(markdown, html):
    assert html in html_of(markdown)


@every_lesson
def test_nothing_of_markdown_is_left_on_pages(name):
    for cell in read_lesson(name).cells:
        if cell.is_prose:
            words = re.sub(r'<code>.*?</code>|alt="[^"]*"|src="[^"]*"', "", html_of(cell.source))
            assert not re.search(r"\$|\*\*|`|^#", words), words


def test_pictures_leave_the_settings_of_others_alone():
    before = mpl.rcParams["axes.grid"], mpl.get_backend()
    with collected_pictures():
        mpl.rcParams["axes.grid"] = not before[0]
    assert (mpl.rcParams["axes.grid"], mpl.get_backend()) == before


def test_students_notebooks_are_those_of_all_lessons():
    assert list(student_notebooks()) == [f"{name}.ipynb" for name in NAMES]


TITLE = '# %% [markdown]\nr"""\n# Lesson\n"""\n'
TASK = (
    '# %% [markdown] task 1, read\nr"""\nHow many?\n"""\n'
    "# %% start 1\nx = ...\n# %% answer 1\nx = 2\n# %% check 1\nnear(x, 2, 0)\n"
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (TASK, "begins with prose and its title"),
        (TITLE + TASK.replace("# %% answer 1\nx = 2\n", ""), "each task has one part 'answer'"),
        (TITLE + TASK.replace("x = 2", "y = 2"), "gives no value to \\['x'\\]"),
        (TITLE + TASK.replace("task 1", "task 2"), "numbered 1, 2, 3"),
        (TITLE + TASK.replace(", read", ", rea"), "read"),
        (TITLE + TASK.replace("[markdown] task", "task"), "prose, and only prose"),
        (TITLE + TASK.replace("start 1", "start"), "the number of its task"),
        (TITLE + TASK.replace("start 1", "begin 1"), "begins no cell"),
        (TITLE + TASK.replace('r"""\nHow many?\n"""', "How many?"), "in one string"),
    ],
)
def test_a_source_that_is_not_whole_is_refused(text, said):
    with pytest.raises(InputError, match=said):
        parse_lesson(text, "x")


def test_files_and_commands_that_lessons_name_are_there():
    from dryingsim.cli.main import app

    known = {command.name or command.callback.__name__ for command in app.registered_commands}
    known |= {group.name for group in app.registered_groups}
    for name in NAMES:
        prose = "\n".join(cell.source for cell in read_lesson(name).cells if cell.is_prose)
        for command in re.findall(r"`dryingsim ([\w-]+)", prose):
            assert command in known, f"{name}: {command}"
        for file in re.findall(r"`((?:shared|examples|validation|dryingsim)/[\w./]+\.\w+)`", prose):
            assert (ROOT / file).is_file(), f"{name}: {file}"
