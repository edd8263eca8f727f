"""All that a class needs, as files: notebooks of both forms, a page of each with its outputs, and a page that lists them."""

from collections.abc import Callable

from dryingsim.plain_text import html_text as escape
from dryingsim.teaching.lesson_page import lesson_page, whole_page
from dryingsim.teaching.lesson_source import FORMS, Lesson, lesson_names, read_lesson
from dryingsim.teaching.notebook import notebook
from dryingsim.teaching.worked_lesson import work_through

START = "index.html"


def student_notebooks() -> dict[str, str]:
    """Return the students' notebooks by their files' names."""
    return {f"{name}.ipynb": notebook(read_lesson(name), "student") for name in lesson_names()}


def kit_names() -> list[str]:
    """Return the names of the files of the kit."""
    own = [
        f"{form}/{name}.{ending}" for name in lesson_names() for form in FORMS for ending in ("ipynb", "html")
    ]
    return [*own, START]


def class_kit(progress: Callable[[float, str], None] = lambda done, text: None) -> dict[str, str]:
    """Return the files of the kit by their names: `student/`, `teacher/` and `index.html`.

    Parameters
    ----------
    progress : callable
        Called with how many lessons are done and a text.
    """
    from dryingsim.show.lessons.pictures import collected_pictures

    files: dict[str, str] = {}
    lessons = [read_lesson(name) for name in lesson_names()]
    with collected_pictures() as take_pictures:
        for done, lesson in enumerate(lessons):
            progress(done, f"working through {lesson.title}")
            worked = work_through(lesson, take_pictures)
            for form in FORMS:
                files[f"{form}/{lesson.name}.ipynb"] = notebook(lesson, form)
                files[f"{form}/{lesson.name}.html"] = lesson_page(worked, form)
    files[START] = _list(lessons)
    return files


def _list(lessons: list[Lesson]) -> str:
    rows = "".join(
        f"<tr><td>{escape(lesson.title)}</td><td>{len(lesson.tasks)}</td>"
        + "".join(
            f'<td><a href="{form}/{lesson.name}.html">page</a> <a href="{form}/{lesson.name}.ipynb">notebook</a></td>'
            for form in FORMS
        )
        + "</tr>"
        for lesson in lessons
    )
    return whole_page(
        "Lessons",
        "<h1>Lessons on drying meat</h1><p>Hand out the folder <code>student</code>: its tasks check themselves and hold no "
        "answers. The folder <code>teacher</code> has the answers and notes. Whoever has the package can write that folder "
        "too: for graded work, change a number or the batch. Pages show what the notebooks compute; to work "
        "on a notebook, students need this package and any program that runs notebooks.</p>"
        "<table><thead><tr><th>Lesson</th><th>Tasks</th><th>For students</th><th>For the teacher</th></tr></thead>"
        f"<tbody>{rows}</tbody></table>",
    )
